package udp

import (
	"encoding/binary"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"strings"
)

// Interface is a network interface as it is at one moment.
type Interface struct {
	net.Interface
	Networks []netip.Prefix // its IPv4 addresses with their masks, in the system's order
}

// usable reports whether packets can leave by n.
func (n *Interface) usable() bool { return n.Flags&net.FlagUp != 0 && len(n.Networks) > 0 }

// String returns the name and the first address, and what keeps the interface
// from sending.
func (n *Interface) String() string {
	switch {
	case len(n.Networks) == 0:
		return n.Name + " (no IPv4 address)"
	case n.Flags&net.FlagUp == 0:
		return fmt.Sprintf("%s (%s, down)", n.Name, n.Networks[0].Addr())
	}
	return fmt.Sprintf("%s (%s)", n.Name, n.Networks[0].Addr())
}

// Addr returns the interface's own address in the network of to, or its first
// address if to is in none of its networks.
func (n *Interface) Addr(to netip.Addr) netip.Addr {
	for _, p := range n.Networks {
		if p.Contains(to) {
			return p.Addr()
		}
	}
	return n.Networks[0].Addr()
}

// Reaches reports whether to is in one of the interface's networks.
func (n *Interface) Reaches(to netip.Addr) bool {
	for _, p := range n.Networks {
		if p.Contains(to) {
			return true
		}
	}
	return false
}

// ErrNoNetwork means that no interface is named, and that none but the one by which
// this computer reaches itself is up and can multicast.
var ErrNoNetwork = errors.New("no network interface can multicast")

// Choose reads the interface that is named, or without a name the only one that
// can multicast. It never guesses between two: data that leaves by the wrong
// interface is a dark stage with a program that says it sends. It is an error if
// the interface is not there, is down, or has no IPv4 address; ErrNoNetwork if there
// is none to choose from.
func Choose(name string) (*Interface, error) {
	all, err := interfaces()
	if err != nil {
		return nil, err
	}
	return choose(name, all)
}

// Loopback returns the name of the interface by which this computer reaches itself, such
// as lo, or "" if none is up.
func Loopback() string {
	all, _ := interfaces()
	for i := range all {
		if all[i].usable() && all[i].Flags&net.FlagLoopback != 0 {
			return all[i].Name
		}
	}
	return ""
}

// Networks returns the IPv4 networks of all interfaces, with this computer's address in
// each.
func Networks() (list []netip.Prefix, err error) {
	all, err := interfaces()
	for i := range all {
		list = append(list, all[i].Networks...)
	}
	return list, err
}

// interfaces reads the system's network interfaces.
func interfaces() ([]Interface, error) {
	system, err := net.Interfaces()
	if err != nil {
		return nil, fmt.Errorf("listing the network interfaces: %w", err)
	}
	var all []Interface
	for _, i := range system {
		all = append(all, Interface{Interface: i, Networks: networksOf(&i)})
	}
	return all, nil
}

// networksOf returns the IPv4 addresses of an interface with their masks. An
// interface that goes away meanwhile has none.
func networksOf(n *net.Interface) (list []netip.Prefix) {
	addrs, _ := n.Addrs()
	for _, a := range addrs {
		if p, err := netip.ParsePrefix(a.String()); err == nil && p.Addr().Is4() {
			list = append(list, p)
		}
	}
	return list
}

func choose(name string, all []Interface) (*Interface, error) {
	var candidates, list []string
	var found *Interface
	for i := range all {
		n := &all[i]
		if name != "" && n.Name == name {
			if !n.usable() {
				return nil, fmt.Errorf("network interface %s cannot send", n)
			}
			return n, nil
		}
		list = append(list, n.String())
		if n.usable() && n.Flags&net.FlagMulticast != 0 && n.Flags&net.FlagLoopback == 0 {
			candidates = append(candidates, n.String())
			found = n
		}
	}
	switch {
	case name != "":
		return nil, fmt.Errorf("no network interface %q; there are: %s", name, strings.Join(list, ", "))
	case len(candidates) == 0:
		return nil, fmt.Errorf("%w; there are: %s", ErrNoNetwork, strings.Join(list, ", "))
	case len(candidates) > 1:
		return nil, fmt.Errorf("name the network interface to send from, one of: %s", strings.Join(candidates, ", "))
	}
	return found, nil
}

// Broadcast returns the directed broadcast address of a network: all host bits
// one (RFC 922, 7). A /31 or /32, and what is not IPv4, has none.
func Broadcast(p netip.Prefix) (netip.Addr, bool) {
	if !p.Addr().Is4() || p.Bits() < 0 || p.Bits() > 30 {
		return netip.Addr{}, false
	}
	four := p.Addr().As4()
	binary.BigEndian.PutUint32(four[:], binary.BigEndian.Uint32(four[:])|^uint32(0)>>p.Bits())
	return netip.AddrFrom4(four), true
}
