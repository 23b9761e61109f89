package udp

import (
	"net"
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestChoose(t *testing.T) {
	const up, multi, loop = net.FlagUp, net.FlagMulticast, net.FlagLoopback
	make := func(name string, flags net.Flags, networks ...netip.Prefix) Interface {
		return Interface{net.Interface{Name: name, Flags: flags}, networks}
	}
	network := netip.MustParsePrefix
	lo := make("lo", up|loop, network("127.0.0.1/8"))
	eth := make("eth0", up|multi, network("10.0.0.2/24"), network("10.7.0.2/16"))
	wifi := make("wlan0", up|multi, network("192.168.0.3/24"))
	down := make("eth1", multi, network("10.0.1.2/24"))
	bare := make("eth2", up|multi)
	vpn := make("tun0", up, network("10.8.0.1/32"))
	for _, c := range []struct {
		name string
		all  []Interface
		want string
		err  []string
	}{
		{"", []Interface{lo, eth}, "eth0", nil},
		{"", []Interface{lo, down, bare, vpn, wifi}, "wlan0", nil},
		{"", []Interface{lo, eth, wifi}, "", []string{"name the network interface", "eth0 (10.0.0.2)", "wlan0 (192.168.0.3)"}},
		{"", []Interface{lo, down, bare}, "", []string{"can multicast", "eth1 (10.0.1.2, down)", "eth2 (no IPv4 address)"}},
		{"wlan0", []Interface{lo, eth, wifi}, "wlan0", nil},
		{"lo", []Interface{lo, eth}, "lo", nil},
		{"eth9", []Interface{lo, eth}, "", []string{`no network interface "eth9"`, "lo (127.0.0.1), eth0 (10.0.0.2)"}},
		{"eth1", []Interface{down}, "", []string{"eth1 (10.0.1.2, down)", "cannot send"}},
		{"eth2", []Interface{bare}, "", []string{"eth2 (no IPv4 address)"}},
	} {
		n, err := choose(c.name, c.all)
		require.Equal(t, c.err == nil, err == nil, "%q, %v", c.name, err)
		if err == nil {
			assert.Equal(t, c.want, n.Name, "%q", c.name)
		}
		for _, part := range c.err {
			assert.ErrorContains(t, err, part, "%q", c.name)
		}
	}
}
