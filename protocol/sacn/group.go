package sacn

import "net/netip"

// Port is where E1.31 listens (9.1.1).
const Port = 5568

// discoveryUniverse names the group of the universe lists (9.3.1, Appendix A).
const discoveryUniverse = 64214

// Group returns the IPv4 multicast group of a universe or synchronization
// address: 239.255 and the number (9.3.1).
func Group(universe uint16) netip.Addr {
	return netip.AddrFrom4([4]byte{239, 255, byte(universe >> 8), byte(universe)})
}

// Group6 returns the IPv6 multicast group of a universe (9.3.2).
func Group6(universe uint16) netip.Addr {
	return netip.AddrFrom16([16]byte{0: 0xff, 1: 0x18, 12: 0x83, 14: byte(universe >> 8), 15: byte(universe)})
}
