package udp_test

import (
	"net/netip"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/udp"
)

// Whatever keeps packets from leaving is found within a second, with the interface's
// name and the reason, and so is its end. The interface is found by its name, or by the
// routes to where packets go.
func TestLinkWatchFindsFaults(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	cable(t)
	far := netip.MustParseAddr("10.77.0.2")
	watches := map[string]*udp.LinkWatch{"by name": udp.NewLinkWatch("stage0", nil), "by route": udp.NewLinkWatch("", []netip.Addr{far})}
	for how, w := range watches {
		defer w.Close()
		within(t, time.Second, func() bool { return w.Fault() == nil })
		require.False(t, w.NoCarrier(far), how)
	}
	address := func(t *testing.T, word string) { run(t, "ip", "addr", word, "10.77.0.1/24", "dev", "stage0") }
	for _, c := range []struct {
		reason    string
		only      string // the watch that can see it; "" = both
		cut, mend func()
	}{
		{"has no carrier", "", func() { run(t, "ip", "link", "set", "stage1", "down") }, func() { run(t, "ip", "link", "set", "stage1", "up") }},
		{"is down", "by name", func() { run(t, "ip", "link", "set", "stage0", "down") }, func() { run(t, "ip", "link", "set", "stage0", "up") }},
		{"has no IPv4 address", "by name", func() { address(t, "del") }, func() { address(t, "add") }},
		{"is not there", "by name", func() { run(t, "ip", "link", "del", "stage0") }, func() { cable(t) }},
	} {
		for how, w := range watches {
			if c.only != "" && c.only != how {
				continue
			}
			before := w.Changes()
			c.cut()
			took := within(t, time.Second, func() bool { return w.Fault() != nil && w.Fault().Reason != "" })
			fault := w.Fault()
			assert.Equal(t, "stage0", fault.Interface, how)
			assert.ErrorContains(t, fault, `network interface "stage0" `+c.reason, how)
			assert.Equal(t, c.reason == "has no carrier", w.NoCarrier(far), how)
			assert.NotEqual(t, before, w.Changes(), how)
			before = w.Changes()
			c.mend()
			back := within(t, time.Second, func() bool { return w.Fault() == nil })
			assert.False(t, w.NoCarrier(far), how)
			assert.NotEqual(t, before, w.Changes(), how)
			t.Logf("%s, %s: found after %v, its end after %v", c.reason, how, took.Round(time.Millisecond), back.Round(time.Millisecond))
		}
	}
}

// Packets to this computer itself need no cable.
func TestLinkWatchThisComputer(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	cable(t)
	far := netip.MustParseAddr("10.77.0.2")
	here := []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("127.0.0.9"), netip.MustParseAddr("10.77.0.1")}
	w := udp.NewLinkWatch("stage0", append(here, far))
	defer w.Close()
	run(t, "ip", "link", "set", "stage1", "down")
	within(t, time.Second, func() bool { return w.NoCarrier(far) })
	for _, to := range here {
		assert.False(t, w.NoCarrier(to), "%v", to)
	}
	assert.ErrorContains(t, w.Fault(), `network interface "stage0" has no carrier`)
}

// A route that goes or comes is a change: a socket that failed is worth a try.
func TestLinkWatchCountsRoutes(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	cable(t)
	w := udp.NewLinkWatch("stage0", nil)
	defer w.Close()
	for _, word := range []string{"add", "del"} {
		before := w.Changes()
		run(t, "ip", "route", word, "10.99.0.0/24", "dev", "stage0")
		within(t, time.Second, func() bool { return w.Changes() != before })
		<-w.Changed()
	}
}

// Asking costs the frame loop nothing.
func TestLinkWatchAllocatesNothing(t *testing.T) {
	w := udp.NewLinkWatch("no-such-nic", nil)
	defer w.Close()
	to := netip.MustParseAddr("10.77.0.2")
	assert.ErrorContains(t, w.Fault(), `network interface "no-such-nic" is not there`)
	assert.Zero(t, testing.AllocsPerRun(100, func() { w.NoCarrier(to); w.Fault(); w.Changes() }))
}
