package sacn

import (
	"fmt"
	"net"
	"net/netip"
	"strings"
)

// nic is a network interface as far as sending and receiving need it.
type nic struct {
	name  string
	index int
	addr  netip.Addr // its first IPv4 address; not valid if it has none
	flags net.Flags
}

// usable reports whether multicast can leave by n.
func (n *nic) usable() bool { return n.flags&net.FlagUp != 0 && n.addr.IsValid() }

// String prints the interface and its address.
func (n *nic) String() string {
	switch {
	case !n.addr.IsValid():
		return n.name + " (no IPv4 address)"
	case n.flags&net.FlagUp == 0:
		return fmt.Sprintf("%s (%s, down)", n.name, n.addr)
	}
	return fmt.Sprintf("%s (%s)", n.name, n.addr)
}

// systemNICs lists the machine's interfaces.
func systemNICs() ([]nic, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, fmt.Errorf("sacn: listing the network interfaces: %w", err)
	}
	nics := make([]nic, 0, len(all))
	for _, ifi := range all {
		n := nic{name: ifi.Name, index: ifi.Index, flags: ifi.Flags}
		addrs, _ := ifi.Addrs() // an interface that goes away meanwhile has none
		for _, a := range addrs {
			if p, err := netip.ParsePrefix(a.String()); err == nil && p.Addr().Is4() && !n.addr.IsValid() {
				n.addr = p.Addr()
			}
		}
		nics = append(nics, n)
	}
	return nics, nil
}

// chooseNIC finds the interface that is named, or the only candidate if none
// is. It never guesses between two: data that leaves by the wrong interface is
// a dark stage with a program that says it sends.
func chooseNIC(name string, all []nic) (nic, error) {
	var candidates, list []string
	var found nic
	for _, n := range all {
		if name != "" && n.name == name {
			if !n.usable() {
				return nic{}, fmt.Errorf("sacn: network interface %s cannot send", n.String())
			}
			return n, nil
		}
		list = append(list, n.String())
		if n.usable() && n.flags&net.FlagMulticast != 0 && n.flags&net.FlagLoopback == 0 {
			candidates = append(candidates, n.String())
			found = n
		}
	}
	switch {
	case name != "":
		return nic{}, fmt.Errorf("sacn: no network interface %q; there are: %s", name, strings.Join(list, ", "))
	case len(candidates) == 0:
		return nic{}, fmt.Errorf("sacn: no network interface can multicast; there are: %s", strings.Join(list, ", "))
	case len(candidates) > 1:
		return nic{}, fmt.Errorf("sacn: name the network interface to send from, one of: %s", strings.Join(candidates, ", "))
	}
	return found, nil
}
