package artnet

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"syscall"

	"golang.org/x/net/ipv4"
)

// sendBuffer is what a data socket asks for. The kernel holds packets for a
// node that does not answer ARP (Linux: up to 212,992 octets a node) and counts
// them against the socket, so the buffer must be larger than that queue: then
// the queue drops its oldest packet and the socket never fills up.
const sendBuffer = 1 << 20

// batchConn is the part of a UDP socket that a link needs.
type batchConn interface {
	// WriteBatch sends from the head of ms and returns how many went out. It
	// never waits: a full buffer is an error.
	WriteBatch(ms []ipv4.Message) (int, error)
	Close() error
}

// listenUDP opens an IPv4 socket on local, kept to the named interface where
// the system can ("" = any). With reuse other programs may share the port.
func listenUDP(local netip.AddrPort, iface string, reuse bool) (*net.UDPConn, error) {
	var index int
	if iface != "" {
		nic, err := net.InterfaceByName(iface)
		if err != nil {
			return nil, fmt.Errorf("artnet: interface %q: %w", iface, err)
		}
		index = nic.Index
	}
	lc := net.ListenConfig{Control: func(_, _ string, raw syscall.RawConn) error {
		var failed error
		err := raw.Control(func(fd uintptr) {
			if reuse {
				failed = setReuse(fd)
			}
			if failed == nil && index != 0 {
				failed = keepToInterface(fd, iface, index)
			}
		})
		if err != nil {
			return err
		}
		return failed
	}}
	conn, err := lc.ListenPacket(context.Background(), "udp4", local.String())
	if err != nil {
		return nil, fmt.Errorf("artnet: open %v: %w", local, err)
	}
	return conn.(*net.UDPConn), nil
}

// listenShared opens local so that other programs can have it too, and reports
// whether one already does: unicast packets then reach only one of them.
func listenShared(local netip.AddrPort, iface string) (conn *net.UDPConn, shared bool, err error) {
	if local.Port() != 0 {
		if probe, err := listenUDP(local, iface, false); err != nil {
			shared = true
		} else {
			probe.Close()
		}
	}
	conn, err = listenUDP(local, iface, true)
	return conn, shared && err == nil, err
}
