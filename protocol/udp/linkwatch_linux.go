package udp

import (
	"encoding/binary"
	"errors"
	"io"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// carrierIsReliable: without carrier Linux itself drops every packet.
const carrierIsReliable = true

// openLinkEvents opens a socket on which the system reports changes of interfaces,
// addresses and routes (rtnetlink(7)).
func openLinkEvents() (io.ReadCloser, error) {
	fd, err := unix.Socket(unix.AF_NETLINK, unix.SOCK_RAW|unix.SOCK_CLOEXEC|unix.SOCK_NONBLOCK, unix.NETLINK_ROUTE)
	if err != nil {
		return nil, os.NewSyscallError("socket", err)
	}
	groups := &unix.SockaddrNetlink{
		Family: unix.AF_NETLINK,
		Groups: unix.RTMGRP_LINK | unix.RTMGRP_IPV4_IFADDR | unix.RTMGRP_IPV4_ROUTE,
	}
	if err := unix.Bind(fd, groups); err != nil {
		unix.Close(fd)
		return nil, os.NewSyscallError("bind", err)
	}
	return os.NewFile(uintptr(fd), "rtnetlink"), nil
}

// readLinkEvents calls wake for every report until source is closed. What a report
// says does not matter: the interfaces are read again.
func readLinkEvents(source io.Reader, wake func()) {
	buffer := make([]byte, os.Getpagesize())
	for {
		_, err := source.Read(buffer)
		if err != nil && !errors.Is(err, unix.ENOBUFS) { // ENOBUFS: reports were lost
			return
		}
		wake()
	}
}

// readCarriers returns for each interface, by index, whether it has a carrier, from
// IFLA_CARRIER of rtnetlink(7): the driver's own state. IFF_RUNNING follows it up to
// a second later.
func readCarriers() map[int]bool {
	rib, err := syscall.NetlinkRIB(syscall.RTM_GETLINK, syscall.AF_UNSPEC)
	if err != nil {
		return nil
	}
	messages, err := syscall.ParseNetlinkMessage(rib)
	if err != nil {
		return nil
	}
	carriers := map[int]bool{}
	for i := range messages {
		m := &messages[i]
		if m.Header.Type != syscall.RTM_NEWLINK || len(m.Data) < syscall.SizeofIfInfomsg {
			continue
		}
		attrs, err := syscall.ParseNetlinkRouteAttr(m)
		if err != nil {
			continue
		}
		index := int(int32(binary.NativeEndian.Uint32(m.Data[4:]))) // ifinfomsg.ifi_index
		for _, a := range attrs {
			if a.Attr.Type == unix.IFLA_CARRIER && len(a.Value) > 0 {
				carriers[index] = a.Value[0] != 0
			}
		}
	}
	return carriers
}
