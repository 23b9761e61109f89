package artnet

import (
	"errors"
	"net"

	"golang.org/x/net/ipv4"
	"golang.org/x/sys/unix"
)

// maxBatch is UIO_MAXIOV, the most messages that sendmmsg takes.
const maxBatch = 1024

type udpBatch struct {
	conn *net.UDPConn
	pc   *ipv4.PacketConn
}

func newBatch(conn *net.UDPConn) batchConn { return &udpBatch{conn, ipv4.NewPacketConn(conn)} }

func (u *udpBatch) WriteBatch(ms []ipv4.Message) (int, error) {
	n, err := u.pc.WriteBatch(ms[:min(len(ms), maxBatch)], unix.MSG_DONTWAIT)
	return max(n, 0), err // sendmmsg's -1 comes through
}

func (u *udpBatch) Close() error { return u.conn.Close() }

func setReuse(fd uintptr) error {
	return unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEADDR, 1)
}

func keepToInterface(fd uintptr, name string, _ int) error {
	err := unix.SetsockoptString(int(fd), unix.SOL_SOCKET, unix.SO_BINDTODEVICE, name)
	if errors.Is(err, unix.EPERM) {
		return nil // before Linux 5.7 without privilege: the bound address has to do
	}
	return err
}
