package sacn

import (
	"bufio"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"strings"
	"testing"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// start runs cmd until the test ends: closing its input tells it to go.
func start(t *testing.T, cmd *exec.Cmd) *process {
	t.Helper()
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	p := &process{t: t, lines: make(chan string, 10_000), in: in}
	go func() {
		defer close(p.lines)
		for s := bufio.NewScanner(out); s.Scan(); {
			p.lines <- s.Text()
		}
	}()
	t.Cleanup(func() {
		in.Close()
		for range p.lines { // until its output ends
		}
		cmd.Wait()
	})
	return p
}

// The independent npm library hears our multicast stream at the right values.
// (It knows no sync packets, no discovery, and hears only on groups it joined.)
func TestPeerReceives(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	peer := peerScript(t, "sacn-receive.mjs", "127.0.0.1", "1", "2", "513")
	if line := peer.line(); !strings.Contains(line, "ready") {
		t.Fatal(line)
	}
	s, err := NewSender(SenderConfig{
		CID: checkCID, SourceName: "Harbour Hall", Interface: "lo", OnExit: Terminate,
		Universes: []UniverseConfig{{Number: 1, Priority: 100}, {Number: 2, Source: 1, Priority: 7, Slots: 24}, {Number: 513, Source: 2, Priority: 200}},
	})
	if err != nil {
		t.Fatal(err)
	}
	const frames = 300 // the sequence number wraps
	levels := make([]dmx.Universe, 3)
	type message struct {
		Ready                                 bool
		Universe, Sequence, Priority, Options int
		Name, CID, Slots, Fault               string
	}
	priority := map[int]int{1: 100, 2: 7, 513: 200}
	expect := func(frame, universe, options int, want []byte) {
		t.Helper()
		var m message
		if err := json.Unmarshal([]byte(peer.line()), &m); err != nil {
			t.Fatal(err)
		}
		if m.Fault != "" || m.Universe != universe || m.Sequence != frame%256 || m.Priority != priority[universe] || m.Options != options ||
			m.Name != "Harbour Hall" || m.CID != hex.EncodeToString(checkCID[:]) || m.Slots != hex.EncodeToString(want) {
			t.Fatalf("frame %d, universe %d: the peer heard %+v", frame, universe, m)
		}
	}
	check := func(frame, options int) {
		t.Helper()
		expect(frame, 1, options, levels[0].Slots[:])
		expect(frame, 2, options, levels[1].Slots[:24])
		expect(frame, 513, options, levels[2].Slots[:])
	}
	for frame := range frames {
		for u := range levels {
			for i := range dmx.Slots {
				levels[u].Slots[i] = byte(i*(u+1) + frame)
			}
		}
		if err := s.Send(clock.Time(frame)*clock.Second/44, levels, nil); err != nil {
			t.Fatal(err)
		}
		check(frame, 0)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		check(frames+i, int(StreamTerminated))
	}
	t.Logf("%d packets heard by the peer", 3*(frames+3))
}

// Our receiver hears the npm library's stream at the right values, among the
// groups of 45 universes, which take three sockets.
func TestPeerSends(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	var universes []uint16
	for n := range uint16(45) {
		universes = append(universes, 100+n)
	}
	r, packets := listen(t, ReceiverConfig{Interface: "lo", Universes: universes, Discovery: true})
	if len(r.conns) != 3 {
		t.Errorf("%d sockets for 46 groups", len(r.conns))
	}
	m := NewMonitor()
	for _, universe := range []string{"100", "125", "144"} { // one on each socket
		peer := peerScript(t, "sacn-send.mjs", "127.0.0.1", universe, "3")
		if line := peer.line(); line != "ready" {
			t.Fatal(line)
		}
		for n := range 40 {
			if _, err := peer.in.Write([]byte("next\n")); err != nil {
				t.Fatal(err)
			}
			h := next(t, packets, "packet from the peer", func(h heard) bool { return true })
			if h.Err != nil || h.Data == nil {
				t.Fatalf("heard %+v", h)
			}
			h.Packet.Data = &h.data
			if v := m.Take(h.Packet); v != Accepted {
				t.Fatalf("packet %d of universe %s: %v (a group that is heard twice is Late)", n, universe, v)
			}
			if h.data.SourceName.String() != "npm peer" || h.data.Priority != 120 || len(h.data.Slots) != 512 || int(h.data.Sequence) != n {
				t.Fatalf("heard %+v", h.data)
			}
			for i, v := range h.data.Slots {
				if want := byte((i+1)*3 + n); v != want {
					t.Fatalf("universe %s, packet %d, slot %d: %d, want %d", universe, n, i+1, v, want)
				}
			}
		}
	}
	if list := m.Sources(); len(list) != 3 || list[0].Packets != 40 || list[2].Universe != 144 {
		t.Errorf("%d sources", len(list))
	}
}

// The interface is pulled while sending: errors are reported, nothing stops,
// and the stream is back on the wire when the interface is, on its new number.
func TestInterfaceComesBack(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	plug := func() {
		ip(t, "link", "add", "stage0", "type", "veth", "peer", "name", "hall0")
		ip(t, "addr", "add", "10.77.0.1/24", "dev", "stage0")
		ip(t, "link", "set", "stage0", "up")
		ip(t, "link", "set", "hall0", "up")
	}
	plug()
	s, err := NewSender(SenderConfig{CID: checkCID, Universes: append(universe(1, nil), universe(2, nil)...)}) // the only candidate
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if !strings.HasPrefix(s.Describe(), "sACN from stage0 (10.77.0.1)") {
		t.Error(s.Describe())
	}
	levels := make([]dmx.Universe, 1)
	frame := 0
	send := func(n int) (failed int, last error) {
		for range n {
			if err := s.Send(clock.Time(frame)*clock.Second/44, levels, nil); err != nil {
				failed, last = failed+1, err
			}
			frame++
		}
		return failed, last
	}
	onWire := func(what, from string) {
		t.Helper()
		_, packets := listen(t, ReceiverConfig{Interface: "stage0", Universes: []uint16{1}})
		before := wirePackets(t)
		if n, err := send(44); n != 0 {
			t.Fatalf("%s: %d of 44 frames failed: %v", what, n, err)
		}
		h := next(t, packets, "data", func(h heard) bool { return h.Data != nil })
		if h.data.CID != checkCID || h.From.Addr().String() != from {
			t.Errorf("%s: heard %+v from %s", what, h.data, h.From)
		}
		if n := wirePackets(t) - before; n < 88 {
			t.Errorf("%s: %d packets on the wire for 88 sent", what, n)
		}
	}
	onWire("at first", "10.77.0.1")

	ip(t, "link", "del", "stage0")
	n, last := send(220)
	if n != 220 {
		t.Errorf("interface gone: %d of 220 frames failed", n)
	}
	t.Logf("interface gone: %v", last)
	plug()
	if n, err := send(3 * 44); n == 132 {
		t.Fatalf("interface back: still failing: %v", err)
	}
	onWire("back after it was pulled", "10.77.0.1")

	ip(t, "link", "set", "stage0", "down")
	n, last = send(44)
	if n != 44 {
		t.Errorf("interface down: %d of 44 frames failed", n)
	}
	t.Logf("interface down: %v", last)
	ip(t, "link", "set", "stage0", "up")
	if n, err := send(3 * 44); n == 132 {
		t.Fatalf("interface up: still failing: %v", err)
	}
	onWire("up after it was down", "10.77.0.1")

	ip(t, "addr", "flush", "dev", "stage0")
	ip(t, "addr", "add", "10.77.0.9/24", "dev", "stage0")
	if n, err := send(3 * 44); n == 0 || n == 132 {
		t.Fatalf("new address: %d of 132 frames failed: %v", n, err)
	}
	onWire("with a new address", "10.77.0.9")
	t.Logf("%+v", s.Stats())
	if s.Stats().Reopened == 0 || s.Stats().Failed < 2*(220+44) {
		t.Errorf("counts %+v", s.Stats())
	}
}

// A link that takes 1 Mbit/s of 230: the frame is cut short, never waited for
// without end, and all is well once the link is.
func TestSlowNetwork(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	need(t, have("tc"), "tc", "install iproute2")
	ip(t, "link", "add", "stage0", "type", "veth", "peer", "name", "hall0")
	ip(t, "addr", "add", "10.77.0.1/24", "dev", "stage0")
	ip(t, "link", "set", "stage0", "up")
	ip(t, "link", "set", "hall0", "up")
	qdisc := func(args ...string) {
		if out, err := exec.Command("tc", append([]string{"qdisc"}, args...)...).CombinedOutput(); err != nil {
			need(t, false, "a kernel with sch_tbf", string(out))
		}
	}
	qdisc("add", "dev", "stage0", "root", "tbf", "rate", "1mbit", "burst", "2kb", "limit", "100mb")
	var us []UniverseConfig
	for i := range 1024 {
		us = append(us, UniverseConfig{Number: uint16(i + 1)})
	}
	s, err := NewSender(SenderConfig{CID: checkCID, Universes: us, Interface: "stage0"})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	levels := make([]dmx.Universe, 1)
	base := clock.NewBase()
	busy, slowest := 0, clock.Time(0)
	for frame := range 20 {
		before := base.Now()
		err := s.Send(clock.Time(frame)*clock.Second/44, levels, nil)
		slowest = max(slowest, base.Now()-before)
		if errors.Is(err, ErrBusy) {
			busy++
		} else if err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d of 20 frames cut short, the slowest took %d ms; %+v", busy, slowest/clock.Millisecond, s.Stats())
	if busy < 10 || slowest > clock.Second { // the bound is 32 ms and the work of the frame
		t.Errorf("%d of 20 frames cut short, the slowest took %d ms", busy, slowest/clock.Millisecond)
	}
	qdisc("del", "dev", "stage0", "root")
	if err := s.Send(2*clock.Second, levels, nil); err != nil {
		t.Errorf("on a fast link again: %v", err)
	}
}

// wirePackets reads how many packets came out at the far end of the link.
func wirePackets(t *testing.T) (n int) {
	t.Helper()
	out, err := exec.Command("ip", "-j", "-s", "link", "show", "hall0").Output()
	if err != nil {
		t.Fatal(err)
	}
	var links []struct {
		Stats64 struct{ RX struct{ Packets int } }
	}
	if err := json.Unmarshal(out, &links); err != nil || len(links) != 1 {
		t.Fatalf("%v: %s", err, out)
	}
	return links[0].Stats64.RX.Packets
}
