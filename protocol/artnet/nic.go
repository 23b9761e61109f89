package artnet

import (
	"encoding/binary"
	"fmt"
	"net"
	"net/netip"
)

// nic is what an interface is at the moment: its addresses may come late,
// change, or go.
type nic struct {
	nets []netip.Prefix // IPv4 addresses with their masks, in the system's order
	mac  [6]byte
}

// lookupNIC reads the state of the named interface. It is an error if it is
// not there, or has no IPv4 address.
func lookupNIC(name string) (nic, error) {
	var n nic
	in, err := net.InterfaceByName(name)
	if err != nil {
		return n, fmt.Errorf("artnet: interface %q: %w", name, err)
	}
	copy(n.mac[:], in.HardwareAddr)
	addrs, err := in.Addrs()
	if err != nil {
		return n, fmt.Errorf("artnet: interface %q: %w", name, err)
	}
	for _, a := range addrs {
		ipnet, ok := a.(*net.IPNet)
		if !ok || ipnet.IP.To4() == nil {
			continue
		}
		ip, _ := netip.AddrFromSlice(ipnet.IP.To4())
		ones, bits := ipnet.Mask.Size()
		n.nets = append(n.nets, netip.PrefixFrom(ip, ones-(bits-32)))
	}
	if len(n.nets) == 0 {
		return n, fmt.Errorf("artnet: interface %q has no IPv4 address", name)
	}
	return n, nil
}

// toward returns the interface's own address in to's network, else its first.
func (n nic) toward(to netip.Addr) netip.Addr {
	for _, p := range n.nets {
		if p.Contains(to) {
			return p.Addr()
		}
	}
	return n.nets[0].Addr()
}

// reaches says whether to is in one of the interface's networks.
func (n nic) reaches(to netip.Addr) bool {
	for _, p := range n.nets {
		if p.Contains(to) {
			return true
		}
	}
	return false
}

// broadcastOf returns the directed broadcast address of p's network: all host
// bits one. A /31 or /32 has none.
func broadcastOf(p netip.Prefix) (netip.Addr, bool) {
	if !p.Addr().Is4() || p.Bits() < 0 || p.Bits() > 30 {
		return netip.Addr{}, false
	}
	four := p.Addr().As4()
	host := uint32(1)<<(32-p.Bits()) - 1
	if p.Bits() == 0 {
		host = 1<<32 - 1
	}
	binary.BigEndian.PutUint32(four[:], binary.BigEndian.Uint32(four[:])|host)
	return netip.AddrFrom4(four), true
}
