package udp_test

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/protocol/udp"
)

func TestBroadcast(t *testing.T) {
	for in, want := range map[string]string{
		"192.168.1.7/24": "192.168.1.255", "2.0.0.5/8": "2.255.255.255", "10.9.8.7/22": "10.9.11.255",
		"169.254.3.4/16": "169.254.255.255", "10.0.0.1/30": "10.0.0.3", "10.0.0.1/31": "", "10.0.0.1/32": "",
		"127.0.0.1/8": "127.255.255.255", "1.2.3.4/0": "255.255.255.255", "fe80::1/64": "",
	} {
		got, ok := udp.Broadcast(netip.MustParsePrefix(in))
		assert.Equal(t, want != "", ok, in)
		if ok {
			assert.Equal(t, want, got.String(), in)
		}
	}
}

// The address that a packet leaves with is in the network that it goes to.
func TestInterfaceAddr(t *testing.T) {
	n := udp.Interface{Networks: []netip.Prefix{netip.MustParsePrefix("10.0.0.2/24"), netip.MustParsePrefix("10.7.0.2/16")}}
	for to, want := range map[string]string{"10.0.0.9": "10.0.0.2", "10.7.9.9": "10.7.0.2", "10.8.0.1": "10.0.0.2"} {
		assert.Equal(t, want, n.Addr(netip.MustParseAddr(to)).String(), to)
		assert.Equal(t, to != "10.8.0.1", n.Reaches(netip.MustParseAddr(to)), to)
	}
}
