package sacn

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"syscall"

	"golang.org/x/net/ipv4"
)

// receiveBuffer holds about 3,000 full packets; the system may give less.
const receiveBuffer = 4 << 20

// sendBuffer is what to ask for when a frame has so many packets: Linux counts
// some 1.3 kB for each and doubles what it is asked, so there is room for two
// frames. More would only keep old light when the network is slow.
func sendBuffer(packets int) int {
	return min(max(packets*1536, 64<<10), 4<<20)
}

// openSender opens a UDP socket that multicasts by the named interface, or,
// without a name, one for unicast only. The interface is looked up each time:
// it may have come back with another number or address.
func openSender(name string, ttl, packets int) (Conn, error) {
	if name == "" {
		return dial(netip.IPv4Unspecified(), nil, ttl, packets)
	}
	all, err := systemNICs()
	if err != nil {
		return nil, err
	}
	n, err := chooseNIC(name, all)
	if err != nil {
		return nil, err
	}
	// Binding gives the packets their source address and does not steer them
	// (Linux sends by the route); the multicast interface does.
	return dial(n.addr, &net.Interface{Index: n.index, Name: n.name, Flags: n.flags}, ttl, packets)
}

func dial(from netip.Addr, ifi *net.Interface, ttl, packets int) (Conn, error) {
	conn, err := net.ListenUDP("udp4", net.UDPAddrFromAddrPort(netip.AddrPortFrom(from, 0)))
	if err != nil {
		return nil, err
	}
	p := ipv4.NewPacketConn(conn)
	raw, err := conn.SyscallConn()
	if err == nil && ifi != nil {
		if err = p.SetMulticastInterface(ifi); err == nil {
			err = p.SetMulticastTTL(ttl)
		}
		if err == nil {
			err = p.SetMulticastLoopback(true) // monitors on this machine hear us
		}
	}
	if err != nil {
		conn.Close()
		return nil, fmt.Errorf("setting up a socket on %s: %w", from, err)
	}
	growBuffer(raw, conn, sendBuffer(packets))
	return newUDPConn(conn, p, raw), nil
}

// openReceiver opens a UDP socket on port that other programs on this machine
// may share.
func openReceiver(port uint16) (*net.UDPConn, error) {
	lc := net.ListenConfig{Control: func(_, _ string, c syscall.RawConn) error {
		var err error
		if e := c.Control(func(fd uintptr) { err = shareAddress(fd) }); e != nil {
			return e
		}
		return err
	}}
	// Not bound to an interface's address or a group: that blocks multicast on
	// some systems and fails on others. Joins choose the interface.
	c, err := lc.ListenPacket(context.Background(), "udp4", netip.AddrPortFrom(netip.IPv4Unspecified(), port).String())
	if err != nil {
		return nil, fmt.Errorf("sacn: listening on port %d: %w", port, err)
	}
	u := c.(*net.UDPConn)
	u.SetReadBuffer(receiveBuffer) // the system may give less
	return u, nil
}
