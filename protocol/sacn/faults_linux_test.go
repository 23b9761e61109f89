package sacn_test

import (
	"encoding/binary"
	"fmt"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"
	"golang.org/x/sys/unix"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// far is a second machine at the other end of a cable, in a namespace of its own.
type far struct {
	name string
	// first is the number of the frame that came first by each universe since forget.
	first map[uint16]*atomic.Int64
	conns []net.PacketConn
}

// newFar makes the machine; the cable to it is made by connect.
func newFar(t *testing.T) *far {
	t.Helper()
	f := &far{name: fmt.Sprintf("tactus-far-%d", os.Getpid()), first: map[uint16]*atomic.Int64{1: {}, 2: {}}}
	ip(t, "netns", "add", f.name)
	t.Cleanup(func() {
		f.unlisten()
		_ = exec.Command("ip", "netns", "del", f.name).Run()
	})
	return f
}

// connect makes a cable from stage0 here to stage1 there; stage0 stays down.
func (f *far) connect(t *testing.T) {
	t.Helper()
	ip(t, "link", "add", "stage0", "type", "veth", "peer", "name", "stage1", "netns", f.name)
	ip(t, "-n", f.name, "addr", "add", "10.77.0.2/24", "dev", "stage1")
	ip(t, "-n", f.name, "link", "set", "stage1", "up")
	ip(t, "addr", "add", "10.77.0.1/24", "dev", "stage0")
}

// inside calls do with a thread that is in the far machine's namespace: sockets that it
// opens stay there.
func (f *far) inside(t *testing.T, do func()) {
	t.Helper()
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	here, err := os.Open(fmt.Sprintf("/proc/self/task/%d/ns/net", unix.Gettid()))
	require.NoError(t, err)
	defer here.Close()
	there, err := os.Open("/var/run/netns/" + f.name)
	require.NoError(t, err)
	defer there.Close()
	require.NoError(t, unix.Setns(int(there.Fd()), unix.CLONE_NEWNET))
	defer func() { require.NoError(t, unix.Setns(int(here.Fd()), unix.CLONE_NEWNET)) }()
	do()
}

// listen opens the receivers there: universe 1 comes by multicast, 2 by unicast.
func (f *far) listen(t *testing.T) {
	t.Helper()
	f.inside(t, func() {
		nic, err := net.InterfaceByName("stage1")
		require.NoError(t, err)
		c, err := udp.Listen(netip.MustParseAddrPort("0.0.0.0:5568"), "", true)
		require.NoError(t, err)
		group := sacn.Group(1).As4()
		require.NoError(t, ipv4.NewPacketConn(c).JoinGroup(nic, &net.UDPAddr{IP: group[:]}))
		f.conns = append(f.conns, c)
		go func() { // ends with the socket
			_ = udp.Receive(c, sacn.MaxPacket, func(_ netip.AddrPort, b []byte) {
				var p sacn.DataPacket
				if p.Parse(b) == nil {
					f.first[p.Universe].CompareAndSwap(0, int64(binary.BigEndian.Uint16(p.Slots)))
				}
			})
		}()
	})
}

func (f *far) unlisten() {
	for _, c := range f.conns {
		c.Close()
	}
	f.conns = nil
}

// networkFault is a fault of the network, and how it ends.
type networkFault struct {
	name      string
	cut, mend func(t *testing.T)
	frames    int      // how many are sent meanwhile
	fails     int      // in how many of them at least Send returns an error; 0: in none
	mute      []uint16 // universes that do not arrive meanwhile
}

func networkFaults(f *far) []networkFault {
	do := func(args ...string) func(*testing.T) { return func(t *testing.T) { ip(t, args...) } }
	both, unicast := []uint16{1, 2}, []uint16{2}
	return []networkFault{
		{"cable pulled and plugged in", do("-n", f.name, "link", "set", "stage1", "down"), do("-n", f.name, "link", "set", "stage1", "up"), 44, 40, both},
		{"interface down and up", do("link", "set", "stage0", "down"), do("link", "set", "stage0", "up"), 44, 40, both},
		{"address changed", do("addr", "del", "10.77.0.1/24", "dev", "stage0"), do("addr", "add", "10.77.0.7/24", "dev", "stage0"), 44, 40, both},
		{"interface removed and added", do("link", "del", "stage0"), func(t *testing.T) {
			f.connect(t)
			f.unlisten()
			f.listen(t)
			ip(t, "link", "set", "stage0", "up")
		}, 44, 40, both},
		{"route lost", do("route", "del", "10.77.0.0/24", "dev", "stage0"), do("route", "add", "10.77.0.0/24", "dev", "stage0"), 44, 40, unicast},
		{"destination forbidden (EACCES)", do("route", "add", "prohibit", "10.77.0.2"), do("route", "del", "prohibit", "10.77.0.2"), 44, 40, unicast},
		{"node ended (port unreachable)", func(*testing.T) { f.unlisten() }, f.listen, 44, 0, both},
		{"send buffer full", func(t *testing.T) {
			command := exec.Command("tc", "qdisc", "add", "dev", "stage0", "root", "tbf", "rate", "8kbit", "burst", "3000", "limit", "100000000")
			require.NoError(t, command.Run())
		}, func(t *testing.T) {
			require.NoError(t, exec.Command("tc", "qdisc", "del", "dev", "stage0", "root").Run())
		}, 80, 10, nil},
	}
}

// faultRig sends numbered frames to a far machine.
type faultRig struct {
	*far
	t      *testing.T
	sender *sacn.Sender
	base   clock.Base
	tick   *time.Ticker
	frame  int64 // number of the last
	levels []dmx.Universe
}

// send sends frames at 44 a second, and returns in how many of them Send failed.
func (r *faultRig) send(frames int) (failed int) {
	for range frames {
		<-r.tick.C
		r.frame++
		binary.BigEndian.PutUint16(r.levels[0].Slots[:], uint16(r.frame))
		if r.sender.Send(r.base.Now(), r.levels, nil) != nil {
			failed++
		}
	}
	return failed
}

func (r *faultRig) forget() {
	r.first[1].Store(0)
	r.first[2].Store(0)
}

// suffer has a fault come and go, and returns for each universe which frame after its
// end was the first to arrive.
func (r *faultRig) suffer(c *networkFault) (multicast, unicast int64) {
	require.Zero(r.t, r.send(11), "%s: before", c.name)
	attempts := r.sender.Stats().Attempts
	c.cut(r.t)
	r.send(12) // 270 ms, in which a lost carrier is found
	r.forget()
	failed := r.send(c.frames)
	for _, u := range c.mute {
		assert.Zero(r.t, r.first[u].Load(), "%s: universe %d arrives all the same", c.name, u)
	}
	assert.GreaterOrEqual(r.t, failed, c.fails, "%s: frames that failed", c.name)
	assert.Equal(r.t, c.fails > 0, failed > 0, "%s: frames that failed: %d", c.name, failed)
	assert.LessOrEqual(r.t, r.sender.Stats().Attempts-attempts, uint64(12), "%s: attempts to open the socket", c.name)
	c.mend(r.t)
	r.forget()
	mended := r.frame
	for n := 0; n < 55 && (n < 11 || r.first[1].Load() == 0 || r.first[2].Load() == 0); n++ {
		r.send(1)
	}
	return r.first[1].Load() - mended, r.first[2].Load() - mended
}

// Whatever happens to the network, sending goes on without a busy loop, and the first
// frame after the end of the fault arrives at the other end.
//
// A search for a device's hardware address that is lost is repeated by Linux only after
// a second (arp(7), retrans_time_ms), so unicast may take that long: the other end of a
// veth pair can lose the answer while it comes up. Then the fault is tried again.
func TestFaultsOfTheNetwork(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	f := newFar(t)
	f.connect(t)
	ip(t, "link", "set", "stage0", "up")
	f.listen(t)
	s, err := sacn.NewSender(sacn.SenderConfig{
		CID: sacn.CheckCID, Interface: "stage0", Universes: []sacn.UniverseConfig{
			{Number: 1}, {Number: 2, Destinations: []netip.AddrPort{netip.MustParseAddrPort("10.77.0.2:5568")}},
		},
	})
	require.NoError(t, err)
	defer s.Close()
	r := &faultRig{far: f, t: t, sender: s, base: clock.NewBase(), tick: time.NewTicker(time.Second / 44), levels: make([]dmx.Universe, 1)}
	defer r.tick.Stop()
	r.send(55)
	for _, c := range networkFaults(f) {
		least := int64(55)
		for round := 0; round < 3 && least > 2; round++ {
			multicast, unicast := r.suffer(&c)
			t.Logf("%s: first to arrive after its end: frame %d by multicast, %d by unicast", c.name, multicast, unicast)
			assert.Positive(t, multicast, "%s: no multicast", c.name)
			assert.LessOrEqual(t, multicast, int64(2), "%s: multicast", c.name)
			assert.Positive(t, unicast, "%s: no unicast", c.name)
			least = min(least, unicast)
		}
		assert.LessOrEqual(t, least, int64(2), "%s: unicast", c.name)
	}
}
