package artnet

import (
	"context"
	"encoding/binary"
	"fmt"
	"net"
	"net/netip"
	"os"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

// A receiver on a named interface hears what comes by it when the interface appears,
// and when it appears again under another number.
func TestReceiverFollowsTheInterface(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	r, err := NewReceiver(ReceiverConfig{Interface: "artnet0", Wait: true, Base: clock.NewBase()})
	require.NoError(t, err, "the interface comes later")
	assert.ErrorContains(t, r.LinkFault(), "is not there")
	ctx, cancel := context.WithCancel(t.Context())
	got, done := make(chan uint16, 1000), make(chan error, 1)
	go func() {
		done <- r.Run(ctx, func(p Packet) {
			if p.Op == OpDmx {
				got <- p.Dmx.PortAddress
			}
		})
	}()
	for round := range uint16(3) {
		cable(t, "10.77.0.1/24")
		far := plug(t, "10.77.0.2/24")
		packet := (&Dmx{PortAddress: round, Data: make([]byte, 2)}).AppendTo(nil)
		out := far.dial(t, "10.77.0.1:6454")
		require.Eventually(t, func() bool {
			_, _ = out.Write(packet) // refused until it listens
			select {
			case a := <-got:
				return a == round
			default:
				return false
			}
		}, 5*time.Second, 5*time.Millisecond, "round %d", round)
		run(t, "ip", "link", "del", "artnet0")
		require.Eventually(t, func() bool { return r.LinkFault() != nil }, time.Second, time.Millisecond)
	}
	cancel()
	assert.NoError(t, <-done)
}

// inside calls do with a thread that is in the host's namespace: sockets that it opens
// stay there.
func (h host) inside(t *testing.T, do func()) {
	t.Helper()
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	here, err := os.Open(fmt.Sprintf("/proc/self/task/%d/ns/net", unix.Gettid()))
	require.NoError(t, err)
	defer here.Close()
	there, err := os.Open("/proc/" + h.pid + "/ns/net")
	require.NoError(t, err)
	defer there.Close()
	require.NoError(t, unix.Setns(int(there.Fd()), unix.CLONE_NEWNET))
	defer func() { require.NoError(t, unix.Setns(int(here.Fd()), unix.CLONE_NEWNET)) }()
	do()
}

// dial opens a socket in the host's namespace.
func (h host) dial(t *testing.T, to string) (c net.Conn) {
	t.Helper()
	h.inside(t, func() {
		var err error
		c, err = net.Dial("udp4", to)
		require.NoError(t, err)
	})
	t.Cleanup(func() { c.Close() })
	return c
}

// hear opens a node in the host's namespace, which keeps the number of the first frame
// of each universe since it was forgotten.
func (h host) hear(t *testing.T, first *[3]atomic.Int64) {
	t.Helper()
	var c *net.UDPConn
	h.inside(t, func() {
		var err error
		c, err = udp.Listen(netip.MustParseAddrPort("0.0.0.0:6454"), "", true)
		require.NoError(t, err)
	})
	t.Cleanup(func() { c.Close() })
	go func() { // ends with the socket
		_ = udp.Receive(c, maxPacket, func(_ netip.AddrPort, b []byte) {
			var d Dmx
			if d.Parse(b) == nil {
				first[d.PortAddress].CompareAndSwap(0, int64(binary.BigEndian.Uint16(d.Data)))
			}
		})
	}()
}

// Whatever happens to the network, sending goes on without a busy loop, and the first
// frame after the end of the fault arrives at the node, by unicast (universe 1) and
// broadcast (universe 2). A search for the node's hardware address that is lost is
// repeated by Linux only after a second; then the fault is tried again.
func TestFaultsOfTheNetwork(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	var first [3]atomic.Int64
	var far host
	connect := func(t *testing.T) {
		run(t, "ip", "link", "add", "artnet0", "type", "veth", "peer", "name", "artnet1")
		run(t, "ip", "addr", "add", "10.77.0.1/24", "dev", "artnet0", "broadcast", "+")
		far = plug(t, "10.77.0.2/24")
		far.hear(t, &first)
		run(t, "ip", "link", "set", "artnet0", "up")
	}
	connect(t)
	s, err := NewSender(SenderConfig{Interface: "artnet0", Sync: true, Universes: []UniverseConfig{
		{PortAddress: 1, Nodes: []netip.AddrPort{netip.MustParseAddrPort("10.77.0.2:6454")}},
		{PortAddress: 2, Broadcast: true},
	}})
	require.NoError(t, err)
	defer s.Close()
	base, u, n := clock.NewBase(), make([]dmx.Universe, 1), int64(0)
	tick := time.NewTicker(time.Second / 44)
	defer tick.Stop()
	send := func(frames int) (failed int) {
		for range frames {
			<-tick.C
			n++
			binary.BigEndian.PutUint16(u[0].Slots[:], uint16(n))
			if s.Send(base.Now(), u, nil) != nil {
				failed++
			}
		}
		return failed
	}
	do := func(args ...string) func(*testing.T) { return func(t *testing.T) { run(t, "ip", args...) } }
	forget := func() { first[1].Store(0); first[2].Store(0) }
	send(55)
	for _, c := range []struct {
		name      string
		cut, mend func(*testing.T)
	}{
		{"cable pulled and plugged in", func(t *testing.T) { far.run(t, "ip", "link", "set", "artnet1", "down") }, func(t *testing.T) { far.run(t, "ip", "link", "set", "artnet1", "up") }},
		{"interface down and up", do("link", "set", "artnet0", "down"), do("link", "set", "artnet0", "up")},
		{"address changed", do("addr", "del", "10.77.0.1/24", "dev", "artnet0"), do("addr", "add", "10.77.0.7/24", "dev", "artnet0", "broadcast", "+")},
		{"interface removed and added", do("link", "del", "artnet0"), connect},
	} {
		least := int64(55)
		for round := 0; round < 3 && least > 2; round++ {
			require.Zero(t, send(11), "%s: before", c.name)
			attempts := s.Counts().Attempts
			c.cut(t)
			send(12) // 270 ms, in which a lost carrier is found
			forget()
			assert.Equal(t, 44, send(44), "%s: frames that failed", c.name)
			assert.Zero(t, first[1].Load()+first[2].Load(), "%s: something arrives all the same", c.name)
			c.mend(t)
			forget()
			mended := n
			for i := 0; i < 55 && (i < 11 || first[1].Load() == 0 || first[2].Load() == 0); i++ {
				send(1)
			}
			// Three sockets: of the node, of the broadcast and of ArtSync.
			assert.LessOrEqual(t, s.Counts().Attempts-attempts, uint64(36), "%s: attempts to open sockets", c.name)
			unicast, broadcast := first[1].Load()-mended, first[2].Load()-mended
			t.Logf("%s: first to arrive after its end: frame %d by unicast, %d by broadcast", c.name, unicast, broadcast)
			assert.Positive(t, unicast, "%s: no unicast", c.name)
			assert.Positive(t, broadcast, "%s: no broadcast", c.name)
			assert.LessOrEqual(t, broadcast, int64(2), "%s: broadcast", c.name)
			least = min(least, unicast)
		}
		assert.LessOrEqual(t, least, int64(2), "%s: unicast", c.name)
	}
}
