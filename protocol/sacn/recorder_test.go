package sacn_test

import (
	"fmt"
	"net"
	"net/netip"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// recorder is a Conn that keeps what is sent, with the time of the frame.
type recorder struct {
	now     clock.Time
	sent    []sentPacket
	most    int                           // messages a call, 0 = all
	refuse  func(to netip.AddrPort) error // fails single messages
	calls   int
	offered int // messages in all calls
	closed  bool
}

type sentPacket struct {
	at   clock.Time
	to   netip.AddrPort
	kind sacn.Kind
	data sacn.DataPacket
	sync sacn.SyncPacket
	list sacn.DiscoveryPacket
}

func (r *recorder) WriteBatch(ms []ipv4.Message) (int, error) {
	r.calls++
	r.offered += len(ms)
	if r.most > 0 {
		ms = ms[:min(len(ms), r.most)]
	}
	for i, m := range ms {
		to := m.Addr.(*net.UDPAddr).AddrPort()
		if r.refuse != nil {
			if err := r.refuse(to); err != nil {
				if i > 0 { // like sendmmsg: the error comes with the next call
					return i, nil
				}
				return 0, err
			}
		}
		p := sentPacket{at: r.now, to: to}
		var err error
		p.kind, err = sacn.KindOf(m.Buffers[0])
		switch p.kind {
		case sacn.Data:
			err = p.data.Parse(m.Buffers[0])
		case sacn.Sync:
			err = p.sync.Parse(m.Buffers[0])
		case sacn.Discovery:
			err = p.list.Parse(m.Buffers[0])
		}
		if err != nil {
			panic(fmt.Sprintf("the sender made a bad packet: %v", err))
		}
		r.sent = append(r.sent, p)
	}
	return len(ms), nil
}

func (r *recorder) Close() error { r.closed = true; return nil }

// takeSent returns the packets of one kind, and of one universe if it is not 0.
func (r *recorder) takeSent(kind sacn.Kind, universe uint16) (list []sentPacket) {
	for _, p := range r.sent {
		if p.kind == kind && (universe == 0 || p.data.Universe == universe) {
			list = append(list, p)
		}
	}
	return list
}

// rig is a sender on a recorder.
type rig struct {
	*testing.T
	*sacn.Sender
	rec    *recorder
	levels []dmx.Universe
}

func newRig(t *testing.T, c sacn.SenderConfig) *rig {
	t.Helper()
	r := &rig{T: t, rec: &recorder{}, levels: make([]dmx.Universe, 8)}
	c.CID, c.SourceName = sacn.CheckCID, "Check Source"
	if c.Open == nil {
		c.Open = func() (udp.Conn, error) { return r.rec, nil }
	}
	s, err := sacn.NewSender(c)
	require.NoError(t, err)
	r.Sender = s
	return r
}

func (r *rig) frame(now clock.Time) error {
	r.rec.now = now
	return r.Send(now, r.levels, nil)
}

// run calls Send at each time and fails on any error.
func (r *rig) run(times []clock.Time) {
	r.Helper()
	for _, at := range times {
		require.NoError(r, r.frame(at), "at %d", at)
	}
}

// grid returns the exact times of the frames of span at hz.
func grid(hz float64, from, span clock.Time) (times []clock.Time) {
	for n := 0; ; n++ {
		at := clock.Time(float64(n) / hz * 1e9)
		if at >= span {
			return times
		}
		times = append(times, from+at)
	}
}

// busiest returns the most packets in any window of one second, its end not
// included.
func busiest(list []sentPacket) (most int) {
	for first, last := 0, 0; last < len(list); last++ {
		for list[last].at-list[first].at >= clock.Second {
			first++
		}
		most = max(most, last-first+1)
	}
	return most
}

func universe(n uint16, edit func(u *sacn.UniverseConfig)) []sacn.UniverseConfig {
	u := sacn.UniverseConfig{Number: n, Priority: sacn.DefaultPriority}
	if edit != nil {
		edit(&u)
	}
	return []sacn.UniverseConfig{u}
}

// checkSequence fails unless each packet's number is one more than the last.
func checkSequence(t *testing.T, list []sentPacket) {
	t.Helper()
	for i, p := range list {
		require.Equal(t, uint8(i), p.data.Sequence, "universe %d, packet %d", p.data.Universe, i)
	}
}

func numbers(list []sentPacket) (n []uint16) {
	for _, p := range list {
		n = append(n, p.data.Universe)
	}
	return n
}

func sorted(n []uint16) []uint16 { n = slices.Clone(n); slices.Sort(n); return n }
