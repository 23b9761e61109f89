package sacn_test

import (
	"errors"
	"net"
	"net/netip"
	"os"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// sink takes everything.
type sink struct{}

func (*sink) WriteBatch(ms []ipv4.Message) (int, error) { return len(ms), nil }
func (*sink) Close() error                              { return nil }

// Every universe and destination is tried; the first error says which failed.
func TestOneDestinationFails(t *testing.T) {
	bad := netip.MustParseAddrPort("10.9.9.9:5568")
	good := netip.MustParseAddrPort("10.1.1.1:5568")
	r := newRig(t, sacn.SenderConfig{Universes: []sacn.UniverseConfig{
		{Number: 1}, {Number: 2, Destinations: []netip.AddrPort{bad, good}}, {Number: 3, Destinations: []netip.AddrPort{bad}}, {Number: 4},
	}})
	r.rec.refuse = func(to netip.AddrPort) error {
		if to == bad {
			return os.NewSyscallError("sendmmsg", syscall.EPERM)
		}
		return nil
	}
	for i, at := range grid(44, 0, clock.Second) {
		err := r.frame(at)
		var se *sacn.SendError
		require.ErrorAs(t, err, &se, "frame %d", i)
		require.EqualValues(t, 2, se.Universe, "frame %d", i)
		require.Equal(t, bad, se.To, "frame %d", i)
		require.ErrorIs(t, err, syscall.EPERM, "frame %d", i)
		require.ErrorContains(t, err, "universe 2 to 10.9.9.9:5568", "message")
	}
	assert.Equal(t, []uint16{1, 2, 4}, numbers(r.rec.takeSent(sacn.Data, 0)[:3]), "got through")
	s := r.Stats()
	assert.EqualValues(t, 88, s.Failed, "counts")
	assert.EqualValues(t, 3*44+1, s.Packets, "counts")
	assert.Zero(t, s.Reopened, "counts")
}

// When all fail, the work stays in proportion: one call a message, not one
// batch of all the rest for each.
func TestAllFail(t *testing.T) {
	var us []sacn.UniverseConfig
	for i := range 1000 {
		us = append(us, sacn.UniverseConfig{Number: uint16(i + 1)})
	}
	r := newRig(t, sacn.SenderConfig{Universes: us})
	r.rec.refuse = func(netip.AddrPort) error { return syscall.EPERM }
	require.Error(t, r.frame(0))
	assert.EqualValues(t, 1002, r.Stats().Failed)
	assert.Equal(t, 1002, r.rec.calls)
	assert.LessOrEqual(t, r.rec.offered, 3000)
}

// A full buffer, or a closed socket, ends the frame: the rest would fail too.
func TestBusyDropsTheRest(t *testing.T) {
	for _, cause := range []error{udp.ErrFull, net.ErrClosed} {
		r := newRig(t, sacn.SenderConfig{Universes: append(universe(1, nil), universe(2, nil)...)})
		r.rec.refuse = func(to netip.AddrPort) error { return cause }
		err := r.frame(0)
		assert.ErrorIs(t, err, cause)
		assert.Equal(t, 1, r.rec.calls)
		assert.EqualValues(t, 3, r.Stats().Failed)
	}
}

// The interface goes: sending is tried every frame, the socket is opened again
// at once, then after 0.25, 0.5, 1, 2, 2… s; numbers and CID carry on.
func TestReopen(t *testing.T) {
	for _, cause := range []error{syscall.ENETUNREACH, syscall.ENODEV, syscall.EADDRNOTAVAIL, syscall.EBADF, net.ErrClosed} {
		var opened []clock.Time
		var conns []*recorder
		gone := false
		var now clock.Time
		r := newRig(t, sacn.SenderConfig{
			Universes: append(universe(1, nil), universe(2, func(u *sacn.UniverseConfig) { u.OnChange = true })...),
			Open: func() (udp.Conn, error) {
				if gone {
					opened = append(opened, now)
					return nil, errors.New("no such interface")
				}
				conns = append(conns, &recorder{})
				return conns[len(conns)-1], nil
			},
		})
		run := func(from, span clock.Time) (failed int) {
			for _, at := range grid(44, from, span) {
				now, conns[len(conns)-1].now = at, at
				if r.Send(at, r.levels, nil) != nil {
					failed++
				}
			}
			return failed
		}
		require.Zero(t, run(0, 2*clock.Second), "failures before")
		gone = true
		conns[0].refuse = func(netip.AddrPort) error { return cause }
		assert.Equal(t, 220, run(2*clock.Second, 5*clock.Second), "%v: 220 frames failed", cause)
		want := []clock.Time{2000, 2250, 2750, 3750, 5750}
		require.Len(t, opened, len(want), cause)
		for i, at := range opened {
			d := at/clock.Millisecond - want[i]
			assert.GreaterOrEqual(t, d, clock.Time(0), "%v: try %d at %d ms, want %d", cause, i, at/clock.Millisecond, want[i])
			assert.LessOrEqual(t, d, clock.Time(80), "%v: try %d at %d ms, want %d", cause, i, at/clock.Millisecond, want[i])
		}
		gone = false
		assert.LessOrEqual(t, run(7*clock.Second, 3*clock.Second), 44, "%v: frames lost after it came back", cause)
		require.Len(t, conns, 2, cause)
		require.True(t, conns[0].closed, cause)
		require.EqualValues(t, 1, r.Stats().Reopened, cause)
		first := conns[1].takeSent(sacn.Data, 1)[0]
		assert.Equal(t, sacn.CheckCID, first.data.CID, "%v: starts anew", cause)
		assert.NotZero(t, first.data.Sequence, "%v: starts anew", cause)
		if list := conns[1].takeSent(sacn.Data, 2); assert.GreaterOrEqual(t, len(list), 4, "%v: a silent universe was not sent again at once", cause) {
			assert.LessOrEqual(t, list[3].at-list[0].at, 100*clock.Millisecond, "%v: a silent universe was not sent again at once", cause)
		}
	}
}
