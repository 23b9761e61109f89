package sacn_test

import (
	"bufio"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// start runs cmd until the test ends: closing its input tells it to go.
func start(t *testing.T, cmd *exec.Cmd) *process {
	t.Helper()
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	cmd.Stderr = os.Stderr
	require.NoError(t, cmd.Start())
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
	require.Contains(t, peer.line(), "ready")
	s, err := sacn.NewSender(sacn.SenderConfig{
		CID: sacn.CheckCID, SourceName: "Harbour Hall", Interface: "lo", OnExit: sacn.Terminate,
		Universes: []sacn.UniverseConfig{{Number: 1, Priority: 100}, {Number: 2, Source: 1, Priority: 7, Slots: 24}, {Number: 513, Source: 2, Priority: 200}},
	})
	require.NoError(t, err)
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
		require.NoError(t, json.Unmarshal([]byte(peer.line()), &m))
		require.Empty(t, m.Fault, "frame %d: the peer heard", frame)
		require.Equal(t, universe, m.Universe, "frame %d: the peer heard", frame)
		require.Equal(t, frame%256, m.Sequence, "frame %d: the peer heard", frame)
		require.Equal(t, priority[universe], m.Priority, "frame %d: the peer heard", frame)
		require.Equal(t, options, m.Options, "frame %d: the peer heard", frame)
		require.Equal(t, "Harbour Hall", m.Name, "frame %d: the peer heard", frame)
		require.Equal(t, hex.EncodeToString(sacn.CheckCID[:]), m.CID, "frame %d: the peer heard", frame)
		require.Equal(t, hex.EncodeToString(want), m.Slots, "frame %d: the peer heard", frame)
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
		require.NoError(t, s.Send(clock.Time(frame)*clock.Second/44, levels, nil))
		check(frame, 0)
	}
	require.NoError(t, s.Close())
	for i := range 3 {
		check(frames+i, int(sacn.StreamTerminated))
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
	packets := listen(t, sacn.ReceiverConfig{Interface: "lo", Universes: universes})
	assert.Equal(t, 3, openSockets(t), "sockets for 45 groups")
	m := sacn.NewMonitor()
	for _, universe := range []string{"100", "125", "144"} { // one on each socket
		peer := peerScript(t, "sacn-send.mjs", "127.0.0.1", universe, "3")
		require.Equal(t, "ready", peer.line())
		for n := range 40 {
			_, err := peer.in.Write([]byte("next\n"))
			require.NoError(t, err)
			h := next(t, packets, "packet from the peer", func(h heard) bool { return true })
			require.NoError(t, h.Err)
			require.NotNil(t, h.Data)
			h.Packet.Data = &h.data
			require.Equal(t, sacn.Accepted, m.Add(h.Packet), "packet %d of universe %s: (a group that is heard twice is Late)", n, universe)
			require.Equal(t, "npm peer", h.data.SourceName.String())
			require.EqualValues(t, 120, h.data.Priority)
			require.Len(t, h.data.Slots, 512)
			require.Equal(t, n, int(h.data.Sequence))
			for i, v := range h.data.Slots {
				require.Equal(t, byte((i+1)*3+n), v, "universe %s, packet %d, slot %d", universe, n, i+1)
			}
		}
	}
	if list := m.Sources(); assert.Len(t, list, 3) {
		assert.EqualValues(t, 40, list[0].Packets)
		assert.EqualValues(t, 144, list[2].Universe)
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
	s, err := sacn.NewSender(sacn.SenderConfig{CID: sacn.CheckCID, Universes: append(universe(1, nil), universe(2, nil)...)}) // the only candidate
	require.NoError(t, err)
	defer s.Close()
	assert.True(t, strings.HasPrefix(s.Describe(), "sACN from stage0 (10.77.0.1)"), s.Describe())
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
	// The times of frames here are not real ones; the system reports a change in its own time.
	reported := func() {
		t.Helper()
		require.Eventually(t, func() bool { return s.LinkFault() == nil }, 10*time.Second, time.Millisecond)
	}
	onWire := func(what, from string) {
		t.Helper()
		packets := listen(t, sacn.ReceiverConfig{Interface: "stage0", Universes: []uint16{1}})
		before := wirePackets(t)
		n, err := send(44)
		require.Zero(t, n, "%s: 44 frames failed: %v", what, err)
		h := next(t, packets, "data", func(h heard) bool { return h.Data != nil })
		assert.Equal(t, sacn.CheckCID, h.data.CID, what)
		assert.Equal(t, from, h.From.Addr().String(), what)
		assert.GreaterOrEqual(t, wirePackets(t)-before, 88, "%s: packets on the wire for 88 sent", what)
	}
	onWire("at first", "10.77.0.1")

	ip(t, "link", "del", "stage0")
	n, last := send(220)
	assert.Equal(t, 220, n, "interface gone: 220 frames failed")
	t.Logf("interface gone: %v", last)
	plug()
	reported()
	n, err = send(3 * 44)
	require.NotEqual(t, 132, n, "interface back: still failing: %v", err)
	onWire("back after it was pulled", "10.77.0.1")

	ip(t, "link", "set", "stage0", "down")
	n, last = send(44)
	assert.Equal(t, 44, n, "interface down: 44 frames failed")
	t.Logf("interface down: %v", last)
	ip(t, "link", "set", "stage0", "up")
	reported()
	n, err = send(3 * 44)
	require.NotEqual(t, 132, n, "interface up: still failing: %v", err)
	onWire("up after it was down", "10.77.0.1")

	ip(t, "addr", "flush", "dev", "stage0")
	ip(t, "addr", "add", "10.77.0.9/24", "dev", "stage0")
	reported()
	n, err = send(3 * 44)
	require.NotZero(t, n, "new address: %v", err)
	require.NotEqual(t, 132, n, "new address: %v", err)
	onWire("with a new address", "10.77.0.9")
	t.Logf("%+v", s.Stats())
	assert.NotZero(t, s.Stats().Reopened, "counts")
	assert.GreaterOrEqual(t, s.Stats().Failed, uint64(2*(220+44)), "counts")
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
	var us []sacn.UniverseConfig
	for i := range 1024 {
		us = append(us, sacn.UniverseConfig{Number: uint16(i + 1)})
	}
	s, err := sacn.NewSender(sacn.SenderConfig{CID: sacn.CheckCID, Universes: us, Interface: "stage0"})
	require.NoError(t, err)
	defer s.Close()
	levels := make([]dmx.Universe, 1)
	base := clock.NewBase()
	busy, slowest := 0, clock.Time(0)
	for frame := range 20 {
		before := base.Now()
		err := s.Send(clock.Time(frame)*clock.Second/44, levels, nil)
		slowest = max(slowest, base.Now()-before)
		if errors.Is(err, udp.ErrFull) {
			busy++
		} else {
			require.NoError(t, err)
		}
	}
	t.Logf("%d of 20 frames cut short, the slowest took %d ms; %+v", busy, slowest/clock.Millisecond, s.Stats())
	assert.GreaterOrEqual(t, busy, 10) // the bound is 32 ms and the work of the frame
	assert.LessOrEqual(t, slowest, clock.Second)
	qdisc("del", "dev", "stage0", "root")
	assert.NoError(t, s.Send(2*clock.Second, levels, nil), "on a fast link again")
}

// openSockets counts the UDP sockets of this network namespace on the port of sACN,
// in the kernel's table (proc_net_udp: local address and port in hexadecimal).
func openSockets(t *testing.T) (n int) {
	t.Helper()
	table, err := os.ReadFile("/proc/net/udp")
	require.NoError(t, err)
	for line := range strings.Lines(string(table)) {
		if f := strings.Fields(line); len(f) > 1 && strings.HasSuffix(f[1], fmt.Sprintf(":%04X", sacn.Port)) {
			n++
		}
	}
	return n
}

// wirePackets reads how many packets came out at the far end of the link.
func wirePackets(t *testing.T) (n int) {
	t.Helper()
	out, err := exec.Command("ip", "-j", "-s", "link", "show", "hall0").Output()
	require.NoError(t, err)
	var links []struct {
		Stats64 struct{ RX struct{ Packets int } }
	}
	require.NoError(t, json.Unmarshal(out, &links), "%s", out)
	require.Len(t, links, 1, "%s", out)
	return links[0].Stats64.RX.Packets
}
