package artnet

import (
	"bytes"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
	"syscall"
	"testing"

	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/dmx"
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

func (w *wire) open(to netip.AddrPort, broadcast bool) (batchConn, netip.AddrPort, error) {
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
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s, w
}

func (w *wire) send(t *testing.T, s *Sender, now clock.Time, u []dmx.Universe) {
	t.Helper()
	w.now = now
	if err := s.Send(now, u, nil); err != nil {
		t.Fatal(err)
	}
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
	if len(w.sent) != 1 || w.sent[0].to != nodeA || !bytes.Equal(w.sent[0].b, readHex(t, "artnet-artdmx-512")) {
		t.Errorf("sent %d packets: %v", len(w.sent), w.sent)
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
		if int(p.b[offSequence]) != next[p.to] {
			t.Fatalf("to %v: sequence %d, want %d", p.to, p.b[offSequence], next[p.to])
		}
		next[p.to] = next[p.to]%255 + 1
	}
	if len(w.sent) < 600+255 {
		t.Fatalf("%d packets do not wrap both", len(w.sent))
	}
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
			if len(at) < 20*hz-1 || len(at) > 20*hz+1 {
				t.Errorf("%d packets in 20 s", len(at))
			}
			for i := range at {
				n := 0
				for _, x := range at[i:] {
					if x < at[i]+clock.Second {
						n++
					}
				}
				if n > min(hz+1, 44) {
					t.Errorf("%d packets in the second from %v", n, at[i])
				}
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
	if got := len(w.times(nodeA)); got != 440 {
		t.Errorf("%d of 440 uneven frames were sent", got)
	}
	w.sent = nil
	for n := range 20 { // 1 ms apart, after a pause
		w.send(t, s, 60*clock.Second+clock.Time(n)*clock.Millisecond, u)
	}
	if got := len(w.times(nodeA)); got > 2 {
		t.Errorf("%d packets at once after a pause", got)
	}
	w.sent = nil
	w.send(t, s, clock.Second, u) // time was set back
	if len(w.sent) != 1 {
		t.Error("nothing is sent after time was set back")
	}
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
	if !slices.Equal(at[:3], []clock.Time{frame(0), frame(1), frame(2)}) {
		t.Errorf("the start was sent at %v", at[:3])
	}
	i := slices.Index(at, frame(200))
	if i < 0 || at[i+1] != frame(201) || at[i+2] != frame(202) {
		t.Fatalf("the change in frame 200 was not sent three times: %v", at)
	}
	for k := 3; k < len(at); k++ {
		gap := at[k] - at[k-1]
		if k >= i && k <= i+2 {
			continue
		}
		if gap < 850*clock.Millisecond || gap > 900*clock.Millisecond {
			t.Errorf("keep-alive after %v", gap.Sub(0))
		}
	}
	if len(w.sent[0].b) != offData+8 {
		t.Errorf("%d octets for 8 slots", len(w.sent[0].b))
	}
}

// found gives the sender a reply as the reader would.
func found(s *Sender, addr string, p PollReply) {
	if s.discovery == nil {
		s.discovery = &discovery{cfg: &s.cfg, found: make(chan Node, foundDepth), wake: make(chan struct{}, 1)}
	}
	s.discovery.found <- nodeOf(netip.MustParseAddr(addr), &p)
}

func TestUnicastToSubscribersOnly(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{
		{PortAddress: 0x234, Nodes: []netip.AddrPort{nodeA}},
		{PortAddress: 0x235, OnChange: true},
		{PortAddress: 0x236},
	}})
	u := make([]dmx.Universe, 1)
	w.send(t, s, 0, u)
	if len(w.sent) != 1 || w.sent[0].to != nodeA {
		t.Fatalf("without replies only the patched node gets data: %v", w.sent)
	}
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
	if got := w.list(); !slices.Equal(got, want) {
		t.Errorf("sent %v, want %v", got, want)
	}
	found(s, "127.0.0.3", port(8)) // it was moved to another universe
	w.sent = nil
	w.send(t, s, frame(2), u)
	if got := w.list(); !slices.Equal(got, []string{want[0], want[2]}) {
		t.Errorf("after a change: sent %v", got)
	}
	if w.closed != 1 {
		t.Errorf("%d sockets closed, want that of 127.0.0.3", w.closed)
	}
	w.sent = nil
	for n := range 44 * 60 { // a minute of silence changes nothing
		w.send(t, s, frame(3+n), u)
	}
	if got := len(w.times(nodeA)); got < 44*60 {
		t.Errorf("a silent node got %d packets in a minute", got)
	}
}

func (w *wire) list() (names []string) {
	for _, p := range w.sent {
		var d Dmx
		switch {
		case d.Parse(p.b) == nil:
			names = append(names, fmt.Sprintf("%d %v", d.PortAddress, p.to))
		default:
			op, _ := OpCodeOf(p.b)
			names = append(names, fmt.Sprintf("%v %v", op, p.to))
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
	if last.to != nodeB || last.at != frame(10) || last.b[offData] != 200 {
		t.Errorf("last packet %v at %v", last.to, last.at)
	}
}

func TestNodes(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{PortAddress: 4, Nodes: []netip.AddrPort{nodeA, nodeB}}}})
	found(s, "127.0.0.3", PollReply{ShortName: "gate\x1b[31m\xff", NumPorts: 1, PortTypes: [4]uint8{PortOutput}, SwOut: [4]uint8{4}})
	found(s, "127.0.0.3", PollReply{ShortName: "second", BindIndex: 2})
	w.send(t, s, clock.Second, make([]dmx.Universe, 1))
	list := s.Nodes(clock.Second + answerTime)
	if len(list) != 3 {
		t.Fatalf("nodes %+v", list)
	}
	if n := list[0]; n.Addr != nodeA.Addr() || n.Seen || n.Answering || !n.Patched {
		t.Errorf("a node that never answered: %+v", n)
	}
	if n := list[1]; n.ShortName != "gate?[31m?" || n.BindIndex != 1 || !n.Answering || !n.Patched ||
		n.LastSeen != clock.Second || !slices.Equal(n.PortAddresses, []uint16{4}) {
		t.Errorf("a node that answers: %+v", n)
	}
	if n := list[2]; n.ShortName != "second" || n.BindIndex != 2 {
		t.Errorf("its second bank: %+v", n)
	}
	if list = s.Nodes(clock.Second + answerTime + 1); list[1].Answering || !list[1].Seen || len(list) != 3 {
		t.Errorf("after 6 s of silence: %+v", list[1])
	}
	for i := range 2 * maxNodes {
		s.nodes.take(0, Node{Addr: netip.AddrFrom4([4]byte{10, 0, byte(i >> 8), byte(i)})})
	}
	if got := len(s.Nodes(0)); got > maxNodes+1 {
		t.Errorf("a flood of replies made %d nodes", got)
	}
}

func TestBroadcastOnlyWhenAsked(t *testing.T) {
	s, w := startSender(t, SenderConfig{Interface: "lo", Universes: []UniverseConfig{
		{PortAddress: 1, Nodes: []netip.AddrPort{nodeA}},
		{PortAddress: 2, Nodes: []netip.AddrPort{nodeA}, Broadcast: true},
	}})
	w.send(t, s, 0, make([]dmx.Universe, 1))
	if got := w.list(); !slices.Equal(got, []string{"1 127.0.0.2:6454", "2 10.1.2.255:6454"}) {
		t.Errorf("sent %v", got)
	}
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
		if len(w.sent) != 3+len(c.want) {
			t.Fatalf("sent %v", w.list())
		}
		for i, p := range w.sent {
			if op, _ := OpCodeOf(p.b); (op == OpSync) != (i >= 3) {
				t.Errorf("packet %d is %v: ArtSync comes behind all data", i, op)
			}
		}
		if !bytes.Equal(w.sent[3].b, readHex(t, "artnet-artsync")) {
			t.Errorf("sync % x", w.sent[3].b)
		}
		for n := 1; n < 6; n++ { // idle frames too: nodes leave the mode after 4 s
			w.sent = nil
			w.send(t, s, frame(n), u)
		}
		if got := w.list(); !slices.Equal(got, c.want) {
			t.Errorf("idle frame sent %v, want %v", got, c.want)
		}
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
		if !errors.Is(err, syscall.ENETUNREACH) || !strings.Contains(err.Error(), "port-address 7 to 127.0.0.2:6454") {
			t.Fatalf("frame %d: %v", n, err)
		}
	}
	if got := len(w.times(nodeB)); got != 880 {
		t.Errorf("the healthy node got %d of 880 packets", got)
	}
	// At once, then after 100, 200, 400, 800 ms, then every second: 5 + 8.
	if got := s.Counts(); got.Sent != 880 || got.Lost != 440 || got.Reopened < 10 || got.Reopened > 14 {
		t.Errorf("counts %+v", got)
	}
	w.refuse = nil
	w.send(t, s, frame(440), u)
	if got := w.times(nodeA); len(got) != 1 {
		t.Errorf("after recovery the first frame sent %d packets to it", len(got))
	}
	if err := s.Send(frame(441), nil, nil); err == nil || !strings.Contains(err.Error(), "source 0: have 0") {
		t.Errorf("no universes: %v", err)
	}
}

func TestOpenFailsThenWorks(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{PortAddress: 3, Nodes: []netip.AddrPort{nodeA}}}})
	u := make([]dmx.Universe, 1)
	w.openErr = syscall.ENODEV
	for n := range 44 {
		if err := s.Send(frame(n), u, nil); !errors.Is(err, syscall.ENODEV) || !strings.Contains(err.Error(), "port-address 3") {
			t.Fatal(err)
		}
	}
	w.openErr = nil
	for n := 44; n < 90; n++ {
		_ = s.Send(frame(n), u, nil)
	}
	if len(w.sent) < 2 || len(w.opened) != 1 {
		t.Errorf("%d packets and %d sockets within a second of recovery", len(w.sent), len(w.opened))
	}
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
	if err := s.Send(0, make([]dmx.Universe, 1), nil); !errors.Is(err, errFull) {
		t.Error(err)
	}
	if tries > 6 || len(w.sent) != 4 {
		t.Errorf("%d tries, %d sent", tries, len(w.sent))
	}
	w.refuse = func(netip.AddrPort) error { return syscall.EAGAIN }
	_ = s.Send(frame(1), make([]dmx.Universe, 1), nil)
	if got := s.Counts(); got != (Counts{Sent: 4, Lost: 16}) {
		t.Errorf("counts %+v", got)
	}
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
		if len(w.sent) != 100 {
			t.Errorf("%d of 100 packets, %d a call", len(w.sent), most)
		}
	}
	s, w := startSender(t, cfg)
	w.most = -1 // nothing, and no error
	w.refuse = func(netip.AddrPort) error { return nil }
	s.open = func(to netip.AddrPort, _ bool) (batchConn, netip.AddrPort, error) { return stuckConn{}, to, nil }
	if err := s.Send(0, make([]dmx.Universe, 1), nil); !errors.Is(err, errStuck) {
		t.Error(err)
	}
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
	if !errors.Is(err, ErrConfig) {
		t.Fatal(err)
	}
	for _, part := range []string{
		"18 octets", "port 70000", "port-address 40000: not 0", "rate 45", "513 slots",
		"source -1", "needs an interface", "[::1]:6454", "255.255.255.255", "239.1.2.3", "0.0.0.0", "port-address 5 is used twice",
	} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("no %q in\n%v", part, err)
		}
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
		if !strings.Contains(got, part) {
			t.Errorf("no %q in\n%s", part, got)
		}
	}
}

func TestCloseIsSilentAndFinal(t *testing.T) {
	s, w := startSender(t, SenderConfig{Universes: []UniverseConfig{{Nodes: []netip.AddrPort{nodeA}}}})
	w.send(t, s, 0, make([]dmx.Universe, 1))
	if err := s.Close(); err != nil || len(w.sent) != 1 || w.closed != 1 {
		t.Errorf("%v, %d packets, %d closed", err, len(w.sent), w.closed)
	}
	if err := s.Send(1, nil, nil); !errors.Is(err, net.ErrClosed) {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}

func TestBroadcastOf(t *testing.T) {
	for in, want := range map[string]string{
		"192.168.1.7/24": "192.168.1.255", "2.0.0.5/8": "2.255.255.255", "10.9.8.7/22": "10.9.11.255",
		"169.254.3.4/16": "169.254.255.255", "10.0.0.1/30": "10.0.0.3", "10.0.0.1/31": "", "10.0.0.1/32": "",
		"127.0.0.1/8": "127.255.255.255", "1.2.3.4/0": "255.255.255.255", "fe80::1/64": "",
	} {
		got, ok := broadcastOf(netip.MustParsePrefix(in))
		if ok != (want != "") || ok && got.String() != want {
			t.Errorf("%s: %v, want %s", in, got, want)
		}
	}
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
		if err := s.Send(clock.Time(n)*clock.Second/132, u, only); err != nil {
			t.Fatal(err)
		}
		if n%3 == 2 && len(w.sent) != before {
			t.Fatalf("%d packets left where neither universe may", len(w.sent)-before)
		}
		sends += len(w.sent) - before
	}
	// To each node: 44 of its own and an ArtSync behind each of all 88.
	if want := 2*44 + 2*88; sends != want {
		t.Errorf("%d packets, want %d", sends, want)
	}
}
