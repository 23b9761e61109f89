package artnet

import (
	"bytes"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

var (
	nodeA = netip.MustParseAddrPort("127.0.0.2:6454")
	nodeB = netip.MustParseAddrPort("127.0.0.3:6454")
)

// frame n of a grid of 44 a second.
func frame(n int) clock.Time { return clock.Time(int64(n) * int64(clock.Second) / 44) }

// wire records what a sender sends, in place of sockets.
type wire struct {
	now    clock.Time
	sent   []sentPacket
	opened []netip.AddrPort
	// refuse and openErr, when set, are the errors of sends and opens.
	refuse  func(to netip.AddrPort) error
	openErr error
	most    int // messages that go out a call, 0 = all
	closed  int
}

type sentPacket struct {
	at clock.Time
	to netip.AddrPort
	b  []byte
}

func (w *wire) open(to netip.AddrPort, broadcast bool) (udp.Conn, netip.AddrPort, error) {
	if w.openErr != nil {
		return nil, to, w.openErr
	}
	if broadcast {
		to = netip.AddrPortFrom(netip.MustParseAddr("10.1.2.255"), to.Port())
	}
	w.opened = append(w.opened, to)
	return &wireConn{w}, to, nil
}

type wireConn struct{ *wire }

func (c *wireConn) WriteBatch(ms []ipv4.Message) (int, error) {
	if c.most > 0 {
		ms = ms[:min(len(ms), c.most)]
	}
	for i, m := range ms {
		to := m.Addr.(*net.UDPAddr).AddrPort()
		if c.refuse != nil {
			if err := c.refuse(to); err != nil {
				if i > 0 {
					return i, nil // as sendmmsg does
				}
				return 0, err
			}
		}
		c.sent = append(c.sent, sentPacket{c.now, to, bytes.Clone(m.Buffers[0])})
	}
	return len(ms), nil
}

func (c *wireConn) Close() error { c.closed++; return nil }

func startSender(t *testing.T, cfg SenderConfig) (*Sender, *wire) {
	t.Helper()
	w := &wire{}
	s, err := newSender(cfg, w.open)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s, w
}

func (w *wire) send(t *testing.T, s *Sender, now clock.Time, u []dmx.Universe) {
	t.Helper()
	w.now = now
	require.NoError(t, s.Send(now, u, nil))
}

// times returns when ArtDmx packets were sent to a node.
func (w *wire) times(to netip.AddrPort) (at []clock.Time) {
	for _, p := range w.sent {
		if p.to == to {
			at = append(at, p.at)
		}
	}
	return at
}

func TestSendEqualsWorkedPacket(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{PortAddress: 564, Nodes: []netip.AddrPort{nodeA}}}})
	u := make([]dmx.Universe, 1)
	copy(u[0].Slots[:], []byte{255, 128, 64, 32, 16, 8, 4, 1})
	w.send(t, s, 0, u)
	if assert.Len(t, w.sent, 1) {
		assert.Equal(t, nodeA, w.sent[0].to)
		assert.Equal(t, readHex(t, "artnet-artdmx-512"), w.sent[0].b)
	}
}

func TestSequenceWrapsPastZero(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{
		{PortAddress: 1, Nodes: []netip.AddrPort{nodeA}},
		{PortAddress: 2, Nodes: []netip.AddrPort{nodeB}, Rate: 22},
	}})
	u := make([]dmx.Universe, 1)
	for n := range 600 {
		w.send(t, s, frame(n), u)
	}
	next := map[netip.AddrPort]int{nodeA: 1, nodeB: 1}
	for _, p := range w.sent {
		require.Equal(t, next[p.to], int(p.b[offSequence]), "to %v", p.to)
		next[p.to] = next[p.to]%255 + 1
	}
	require.GreaterOrEqual(t, len(w.sent), 600+255, "packets do not wrap both")
}

// A sender that goes on with another's stream numbers each universe from where it is
// told, and never with 0, which would turn the check of the order off.
func TestSequencesGoOn(t *testing.T) {
	universes := []UniverseConfig{{PortAddress: 1, Nodes: []netip.AddrPort{nodeA}}, {PortAddress: 2, Nodes: []netip.AddrPort{nodeB}, Rate: 22}}
	for _, frames := range []int{0, 1, 2, 254, 255, 256, 509, 510, 511} {
		first, w := startSender(t, SenderConfig{Universes: universes})
		u := make([]dmx.Universe, 1)
		for n := range frames {
			w.send(t, first, frame(n), u)
		}
		second := slices.Clone(universes)
		first.Sequences(func(portAddress uint16, next uint8) { second[portAddress-1].Sequence = next })
		other, w2 := startSender(t, SenderConfig{Universes: second})
		w2.send(t, other, 0, u)
		for i, node := range []netip.AddrPort{nodeA, nodeB} {
			sent := len(w.times(node))
			require.Equal(t, sent%255+1, int(w2.sent[i].b[offSequence]), "after %d packets to %v", sent, node)
		}
	}
	s, _ := startSender(t, SenderConfig{Universes: universes})
	require.Zero(t, testing.AllocsPerRun(100, func() {
		sum := uint8(0)
		s.Sequences(func(_ uint16, n uint8) { sum += n })
	}), "allocations")
}

func TestRates(t *testing.T) {
	for _, hz := range []int{1, 20, 40, 41, 42, 43, 44} {
		t.Run(fmt.Sprint(hz), func(t *testing.T) {
			s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{Rate: hz, Nodes: []netip.AddrPort{nodeA}}}})
			u := make([]dmx.Universe, 1)
			for n := range 44 * 20 {
				w.send(t, s, frame(n), u)
			}
			at := w.times(nodeA)
			assert.GreaterOrEqual(t, len(at), 20*hz-1)
			assert.LessOrEqual(t, len(at), 20*hz+1)
			for i := range at {
				n := 0
				for _, x := range at[i:] {
					if x < at[i]+clock.Second {
						n++
					}
				}
				assert.LessOrEqual(t, n, min(hz+1, 44), "packets in the second from %v", at[i])
			}
		})
	}
}

// Frames that come up to 2 ms early against the first are all sent at the full
// rate; a pause is not made up for.
func TestRateWithUnevenFrames(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{Nodes: []netip.AddrPort{nodeA}}}})
	u := make([]dmx.Universe, 1)
	for n := range 440 {
		w.send(t, s, clock.Second+frame(n)+clock.Time(2-n%5)*clock.Millisecond/2, u)
	}
	assert.Len(t, w.times(nodeA), 440, "440 uneven frames were sent")
	w.sent = nil
	for n := range 20 { // 1 ms apart, after a pause
		w.send(t, s, 60*clock.Second+clock.Time(n)*clock.Millisecond, u)
	}
	assert.LessOrEqual(t, len(w.times(nodeA)), 2, "packets at once after a pause")
	w.sent = nil
	w.send(t, s, clock.Second, u) // time was set back
	assert.Len(t, w.sent, 1, "nothing is sent after time was set back")
}

func TestOnChange(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{OnChange: true, Slots: 8, Nodes: []netip.AddrPort{nodeA}}}})
	u := make([]dmx.Universe, 1)
	for n := range 440 {
		if n == 200 {
			u[0].Slots[7] = 9
		}
		if n == 300 {
			u[0].Slots[8] = 9 // not sent
		}
		w.send(t, s, frame(n), u)
	}
	at := w.times(nodeA)
	assert.Equal(t, []clock.Time{frame(0), frame(1), frame(2)}, at[:3], "the start was sent")
	i := slices.Index(at, frame(200))
	require.GreaterOrEqual(t, i, 0, "the change in frame 200 was not sent three times")
	require.Equal(t, frame(201), at[i+1], "the change in frame 200 was not sent three times")
	require.Equal(t, frame(202), at[i+2], "the change in frame 200 was not sent three times")
	for k := 3; k < len(at); k++ {
		gap := at[k] - at[k-1]
		if k >= i && k <= i+2 {
			continue
		}
		assert.GreaterOrEqual(t, gap, 850*clock.Millisecond, "keep-alive")
		assert.LessOrEqual(t, gap, 900*clock.Millisecond, "keep-alive")
	}
	assert.Len(t, w.sent[0].b, offData+8, "octets for 8 slots")
}

// found gives the sender a reply as the reader would.
func found(s *Sender, addr string, p PollReply) {
	if s.discovery == nil {
		s.discovery = &discovery{cfg: &s.cfg, found: make(chan Node, foundDepth), pollDue: make(chan struct{}, 1)}
	}
	s.discovery.found <- newNode(netip.MustParseAddr(addr), &p)
}

func TestUnicastToSubscribersOnly(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{
		{PortAddress: 0x234, Nodes: []netip.AddrPort{nodeA}},
		{PortAddress: 0x235, OnChange: true},
		{PortAddress: 0x236},
	}})
	u := make([]dmx.Universe, 1)
	w.send(t, s, 0, u)
	require.Len(t, w.sent, 1, "without replies only the patched node gets data")
	require.Equal(t, nodeA, w.sent[0].to, "without replies only the patched node gets data")
	port := func(sw uint8) PollReply {
		return PollReply{Net: 2, Sub: 3, NumPorts: 1, PortTypes: [4]uint8{PortOutput}, SwOut: [4]uint8{sw}}
	}
	second := port(5)
	second.BindIndex = 2
	found(s, "127.0.0.2", port(4)) // patched already: once
	found(s, "127.0.0.2", second)  // a second bank of the same device
	found(s, "127.0.0.3", port(4))
	found(s, "127.0.0.9", port(7)) // nothing of ours
	w.sent = nil
	w.send(t, s, frame(1), u)
	want := []string{"564 127.0.0.2:6454", "564 127.0.0.3:6454", "565 127.0.0.2:6454"}
	assert.Equal(t, want, w.list())
	n := 2
	for ; n < 12*44; n++ { // it was moved to another universe, and says so every 3 s
		if n%132 == 2 {
			found(s, "127.0.0.3", port(8))
		}
		w.sent = nil
		w.send(t, s, frame(n), u)
		if n < 8*44 {
			require.Subset(t, w.list(), []string{want[1]}, "frame %d: one reply may be forged", n)
		}
	}
	w.sent = nil
	u[0].Slots[0] = 1 // so that the universe on change is sent too
	w.send(t, s, frame(n), u)
	n++
	assert.Equal(t, []string{want[0], want[2]}, w.list(), "after a change")
	assert.Equal(t, 1, w.closed)
	w.sent = nil
	for i := range 44 * 60 { // a minute of silence changes nothing
		w.send(t, s, frame(n+i), u)
	}
	assert.GreaterOrEqual(t, len(w.times(nodeA)), 44*60, "packets to a silent node in a minute")
}

func (w *wire) list() (names []string) {
	for _, p := range w.sent {
		var d Dmx
		switch {
		case d.Parse(p.b) == nil:
			names = append(names, fmt.Sprintf("%d %v", d.PortAddress, p.to))
		default:
			op, _ := OpCodeOf(p.b)
			names = append(names, fmt.Sprintf("%s %v", opName(op), p.to))
		}
	}
	slices.Sort(names)
	return names
}

// A node that appears, or appears again, gets the present levels at once.
func TestNewNodeGetsPresentLevels(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{
		{PortAddress: 4, OnChange: true, Nodes: []netip.AddrPort{nodeA}},
	}})
	u := make([]dmx.Universe, 1)
	u[0].Slots[0] = 200
	for n := range 10 {
		w.send(t, s, frame(n), u)
	}
	found(s, "127.0.0.3", PollReply{NumPorts: 1, PortTypes: [4]uint8{PortOutput}, SwOut: [4]uint8{4}})
	w.send(t, s, frame(10), u)
	last := w.sent[len(w.sent)-1]
	assert.Equal(t, nodeB, last.to)
	assert.Equal(t, frame(10), last.at)
	assert.EqualValues(t, 200, last.b[offData])
}

func TestNodes(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{PortAddress: 4, Nodes: []netip.AddrPort{nodeA, nodeB}}}})
	found(s, "127.0.0.3", PollReply{ShortName: "gate\x1b[31m\xff", NumPorts: 1, PortTypes: [4]uint8{PortOutput}, SwOut: [4]uint8{4}})
	found(s, "127.0.0.3", PollReply{ShortName: "second", BindIndex: 2})
	w.send(t, s, clock.Second, make([]dmx.Universe, 1))
	list := s.Nodes(clock.Second + answerTime)
	require.Len(t, list, 3, "nodes")
	n := list[0]
	assert.Equal(t, nodeA.Addr(), n.Addr, "a node that never answered")
	assert.False(t, n.Seen, "a node that never answered")
	assert.False(t, n.Answering, "a node that never answered")
	assert.True(t, n.Patched, "a node that never answered")
	n = list[1]
	assert.Equal(t, "gate?[31m?", n.ShortName, "a node that answers")
	assert.EqualValues(t, 1, n.BindIndex, "a node that answers")
	assert.True(t, n.Answering, "a node that answers")
	assert.True(t, n.Patched, "a node that answers")
	assert.Equal(t, clock.Second, n.LastSeen, "a node that answers")
	assert.Equal(t, []uint16{4}, n.PortAddresses, "a node that answers")
	n = list[2]
	assert.Equal(t, "second", n.ShortName, "its second bank")
	assert.EqualValues(t, 2, n.BindIndex, "its second bank")
	list = s.Nodes(clock.Second + answerTime + 1)
	assert.False(t, list[1].Answering, "after 6 s of silence: %+v", list[1])
	assert.True(t, list[1].Seen, "after 6 s of silence: %+v", list[1])
	assert.Len(t, list, 3, "after 6 s of silence: %+v", list[1])
	for i := range 2 * maxNodes {
		s.nodes.update(0, Node{Addr: netip.AddrFrom4([4]byte{10, 0, byte(i >> 8), byte(i)})})
	}
	assert.LessOrEqual(t, len(s.Nodes(0)), maxNodes+1, "nodes after a flood of replies")
}

func TestBroadcastOnlyWhenAsked(t *testing.T) {
	s, w := startSender(t, SenderConfig{Interface: "lo", Universes: []UniverseConfig{
		{PortAddress: 1, Nodes: []netip.AddrPort{nodeA}},
		{PortAddress: 2, Nodes: []netip.AddrPort{nodeA}, Broadcast: true},
	}})
	w.send(t, s, 0, make([]dmx.Universe, 1))
	assert.Equal(t, []string{"1 127.0.0.2:6454", "2 10.1.2.255:6454"}, w.list())
}

func TestSync(t *testing.T) {
	universes := []UniverseConfig{
		{PortAddress: 1, Nodes: []netip.AddrPort{nodeA}, OnChange: true},
		{PortAddress: 2, Nodes: []netip.AddrPort{nodeA, nodeB}, OnChange: true},
	}
	for _, c := range []struct {
		nic  string
		want []string
	}{
		{"", []string{"ArtSync 127.0.0.2:6454", "ArtSync 127.0.0.3:6454"}},
		{"lo", []string{"ArtSync 10.1.2.255:6454"}},
	} {
		s, w := startSender(t, SenderConfig{Interface: c.nic, Universes: universes, Sync: true})
		u := make([]dmx.Universe, 1)
		w.send(t, s, 0, u)
		require.Len(t, w.sent, 3+len(c.want), "sent %v", w.list())
		for i, p := range w.sent {
			op, _ := OpCodeOf(p.b)
			assert.Equal(t, i >= 3, op == OpSync, "packet %d is %v: ArtSync comes behind all data", i, op)
		}
		assert.Equal(t, readHex(t, "artnet-artsync"), w.sent[3].b, "sync")
		for n := 1; n < 6; n++ { // idle frames too: nodes leave the mode after 4 s
			w.sent = nil
			w.send(t, s, frame(n), u)
		}
		assert.Equal(t, c.want, w.list(), "idle frame sent")
	}
}

// A refused packet costs no other: the rest goes out, the first error names
// universe and destination, and the socket is replaced with growing pauses.
func TestErrorsAreTriedAroundAndReopened(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{
		{PortAddress: 7, Nodes: []netip.AddrPort{nodeA, nodeB}, OnChange: true}, {PortAddress: 8, Nodes: []netip.AddrPort{nodeB}},
	}})
	u := make([]dmx.Universe, 1)
	w.refuse = func(to netip.AddrPort) error {
		if to == nodeA {
			return syscall.ENETUNREACH
		}
		return nil
	}
	for n := range 440 {
		w.now = frame(n)
		err := s.Send(w.now, u, nil)
		require.ErrorIs(t, err, syscall.ENETUNREACH, "frame %d", n)
		require.ErrorContains(t, err, "port-address 7 to 127.0.0.2:6454", "frame %d", n)
	}
	assert.Len(t, w.times(nodeB), 880, "packets to the healthy node")
	// At once, then after 100, 200, 400, 800 ms, then every second: 5 + 8.
	got := s.Counts()
	assert.EqualValues(t, 880, got.Sent, "counts")
	assert.EqualValues(t, 440, got.Lost, "counts")
	assert.GreaterOrEqual(t, got.Reopened, uint64(10), "counts")
	assert.LessOrEqual(t, got.Reopened, uint64(14), "counts")
	w.refuse = nil
	w.send(t, s, frame(440), u)
	assert.Len(t, w.times(nodeA), 1, "packets to it with the first frame after recovery")
	err := s.Send(frame(441), nil, nil)
	assert.ErrorContains(t, err, "source 0: have 0", "no universes")
}

func TestOpenFailsThenWorks(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{PortAddress: 3, Nodes: []netip.AddrPort{nodeA}}}})
	u := make([]dmx.Universe, 1)
	w.openErr = syscall.ENODEV
	for n := range 44 {
		err := s.Send(frame(n), u, nil)
		require.ErrorIs(t, err, syscall.ENODEV)
		require.ErrorContains(t, err, "port-address 3")
	}
	w.openErr = nil
	for n := 44; n < 90; n++ {
		_ = s.Send(frame(n), u, nil)
	}
	assert.GreaterOrEqual(t, len(w.sent), 2)
	assert.Len(t, w.opened, 1)
}

func TestFullBufferEndsTheFrameNotTheSocket(t *testing.T) {
	cfg := SenderConfig{}
	for i := range 10 {
		cfg.Universes = append(cfg.Universes, UniverseConfig{PortAddress: uint16(i), Nodes: []netip.AddrPort{nodeA}})
	}
	s, w := startSender(t, cfg)
	tries := 0
	w.refuse = func(netip.AddrPort) error {
		if tries++; tries > 4 {
			return syscall.EAGAIN
		}
		return nil
	}
	assert.ErrorIs(t, s.Send(0, make([]dmx.Universe, 1), nil), udp.ErrFull)
	assert.LessOrEqual(t, tries, 6)
	assert.Len(t, w.sent, 4)
	w.refuse = func(netip.AddrPort) error { return syscall.EAGAIN }
	_ = s.Send(frame(1), make([]dmx.Universe, 1), nil)
	assert.Equal(t, Counts{Sent: 4, Lost: 16}, s.Counts(), "counts")
}

func TestShortBatchesAllGoOut(t *testing.T) {
	cfg := SenderConfig{}
	for i := range 100 {
		cfg.Universes = append(cfg.Universes, UniverseConfig{PortAddress: uint16(i), Nodes: []netip.AddrPort{nodeA}})
	}
	for _, most := range []int{1, 7} {
		s, w := startSender(t, cfg)
		w.most = most
		w.send(t, s, 0, make([]dmx.Universe, 1))
		assert.Len(t, w.sent, 100, "%d a call", most)
	}
	s, w := startSender(t, cfg)
	w.most = -1 // nothing, and no error
	w.refuse = func(netip.AddrPort) error { return nil }
	s.open = func(to netip.AddrPort, _ bool) (udp.Conn, netip.AddrPort, error) { return stuckConn{}, to, nil }
	assert.ErrorIs(t, s.Send(0, make([]dmx.Universe, 1), nil), udp.ErrNotSent)
}

type stuckConn struct{}

func (stuckConn) WriteBatch([]ipv4.Message) (int, error) { return 0, nil }
func (stuckConn) Close() error                           { return nil }

func TestConfigFaultsAllReported(t *testing.T) {
	_, err := NewSender(SenderConfig{Name: "a name of 18 chars", BindPort: 70000, Universes: []UniverseConfig{
		{
			PortAddress: 40000, Rate: 45, Slots: 513, Source: -1, Broadcast: true,
			Nodes: []netip.AddrPort{
				netip.MustParseAddrPort("[::1]:6454"), netip.MustParseAddrPort("255.255.255.255:6454"),
				netip.MustParseAddrPort("239.1.2.3:6454"), netip.MustParseAddrPort("0.0.0.0:6454"),
			},
		},
		{PortAddress: 5},
		{PortAddress: 5},
	}})
	require.ErrorIs(t, err, ErrConfig)
	for _, part := range []string{
		"18 octets", "port 70000", "port-address 40000: not 0", "rate 45", "513 slots",
		"source -1", "needs an interface", "[::1]:6454", "255.255.255.255", "239.1.2.3", "0.0.0.0", "port-address 5 is used twice",
	} {
		assert.ErrorContains(t, err, part)
	}
}

func TestDescribe(t *testing.T) {
	s, _ := startSender(t, SenderConfig{Interface: "no-such-nic", Universes: []UniverseConfig{
		{PortAddress: 564, Slots: 7, Rate: 40, OnChange: true, Nodes: []netip.AddrPort{netip.AddrPortFrom(nodeA.Addr(), 0)}},
		{PortAddress: 0, Broadcast: true},
		{PortAddress: 1},
	}})
	got := s.Describe()
	for _, part := range []string{
		"no-such-nic (NOT USABLE NOW", "564 (net 2, sub-net 3, universe 4), 8 slots, 40 Hz on change to 127.0.0.2:6454",
		"by BROADCAST", "to NOBODY",
	} {
		assert.Contains(t, got, part)
	}
}

func TestCloseIsSilentAndFinal(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{Nodes: []netip.AddrPort{nodeA}}}})
	w.send(t, s, 0, make([]dmx.Universe, 1))
	if assert.NoError(t, s.Close()) {
		assert.Len(t, w.sent, 1)
		assert.Equal(t, 1, w.closed)
	}
	assert.ErrorIs(t, s.Send(1, nil, nil), net.ErrClosed)
	assert.NoError(t, s.Close())
}

// What is passed over keeps still, and ArtSync follows only what may leave.
func TestSendPassesOver(t *testing.T) {
	s, w := startSender(t, SenderConfig{Sync: true, Universes: []UniverseConfig{
		{Source: 0, PortAddress: 1, Nodes: []netip.AddrPort{nodeA}},
		{Source: 1, PortAddress: 2, Nodes: []netip.AddrPort{nodeB}},
	}})
	u, only := make([]dmx.Universe, 3), make([]bool, 3)
	sends := 0
	for n := range 132 {
		clear(only)
		only[n%3] = true
		before := len(w.sent)
		require.NoError(t, s.Send(clock.Time(n)*clock.Second/132, u, only))
		if n%3 == 2 {
			require.Len(t, w.sent, before, "packets left where neither universe may")
		}
		sends += len(w.sent) - before
	}
	// To each node: 44 of its own and an ArtSync behind each of all 88.
	assert.Equal(t, 2*44+2*88, sends)
}
