package sacn_test

import (
	"context"
	"net"
	"net/netip"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// A receiver joins its groups when its interface comes, and again each time that it was
// gone, unplugged or has another address. 25 groups are more than one socket takes, so
// memberships that are left over from an interface that is gone would show.
func TestReceiverJoinsAgain(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	f := newFar(t)
	const last = 25
	c := sacn.ReceiverConfig{Interface: "stage0", Wait: true, Clock: clock.NewBase()}
	for u := range last {
		c.Universes = append(c.Universes, uint16(u+1))
	}
	r, err := sacn.NewReceiver(c)
	require.NoError(t, err, "the interface comes later")
	assert.ErrorContains(t, r.LinkFault(), "is not there")
	var got [last + 1]atomic.Int64
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() {
		done <- r.Run(ctx, func(p sacn.Packet) {
			if p.Data != nil {
				got[p.Data.Universe].Add(1)
			}
		})
	}()
	// arrives sends the first and the last universe until both arrive.
	arrives := func(what string) {
		t.Helper()
		began := time.Now()
		got[1].Store(0)
		got[last].Store(0)
		var out *net.UDPConn
		f.inside(t, func() {
			nic, err := net.InterfaceByName("stage1")
			require.NoError(t, err)
			out, err = udp.Listen(netip.MustParseAddrPort("10.77.0.2:0"), "", false)
			require.NoError(t, err)
			require.NoError(t, ipv4.NewPacketConn(out).SetMulticastInterface(nic))
		})
		defer out.Close()
		require.Eventually(t, func() bool {
			for _, u := range []uint16{1, last} {
				packet := sacn.CheckPacket(func(p *sacn.DataPacket) { p.Universe = u }).AppendTo(nil)
				_, _ = out.WriteToUDPAddrPort(packet, netip.AddrPortFrom(sacn.Group(u), sacn.Port)) // none while the cable is out
			}
			return got[1].Load() > 0 && got[last].Load() > 0
		}, time.Second, 5*time.Millisecond, what)
		t.Logf("%s: packets after %v", what, time.Since(began).Round(time.Millisecond))
	}
	for range 3 {
		f.connect(t)
		ip(t, "link", "set", "stage0", "up")
		arrives("the interface came")
		ip(t, "-n", f.name, "link", "set", "stage1", "down")
		require.Eventually(t, func() bool { return r.LinkFault() != nil }, time.Second, time.Millisecond)
		ip(t, "-n", f.name, "link", "set", "stage1", "up")
		arrives("the cable is back")
		ip(t, "addr", "del", "10.77.0.1/24", "dev", "stage0")
		ip(t, "addr", "add", "10.77.0.7/24", "dev", "stage0")
		arrives("another address")
		ip(t, "link", "del", "stage0")
		require.Eventually(t, func() bool { return r.LinkFault() != nil }, time.Second, time.Millisecond)
	}
	cancel()
	assert.NoError(t, <-done)
}
