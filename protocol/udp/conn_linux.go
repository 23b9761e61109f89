package udp

import (
	"errors"
	"net"
	"syscall"

	"golang.org/x/net/ipv4"
	"golang.org/x/sys/unix"
)

// A frame waits at most 16 times 2 ms for room in the send buffer, which drains
// at the speed of the network. Then the rest of the frame is dropped: late light
// is worse than a lost packet.
const (
	maxWaits = 16
	waitMS   = 2
)

// batchConn sends by sendmmsg(2) and bounds how long a full buffer may hold it
// up.
type batchConn struct {
	*net.UDPConn
	packets  *ipv4.PacketConn
	raw      syscall.RawConn
	wait     func(fd uintptr) // made once, so that waiting does not allocate; nil = never wait
	writable bool
}

// NewConn returns a Conn that writes to c. With wait, a frame that meets a full
// buffer waits up to 32 ms for room; else it fails with ErrFull at once.
func NewConn(c *net.UDPConn, wait bool) (Conn, error) {
	raw, err := c.SyscallConn()
	if err != nil {
		return nil, err
	}
	b := &batchConn{UDPConn: c, packets: ipv4.NewPacketConn(c), raw: raw}
	if wait {
		b.wait = b.poll
	}
	return b, nil
}

func (b *batchConn) poll(fd uintptr) {
	fds := [1]unix.PollFd{{Fd: int32(fd), Events: unix.POLLOUT}}
	n, err := unix.Poll(fds[:], waitMS)
	b.writable = n > 0 || errors.Is(err, unix.EINTR)
}

// WriteBatch implements Conn.
func (b *batchConn) WriteBatch(ms []ipv4.Message) (int, error) {
	for range maxWaits {
		n, err := b.packets.WriteBatch(ms[:min(len(ms), maxBatch)], unix.MSG_DONTWAIT)
		if err == nil || !errors.Is(err, unix.EAGAIN) {
			return max(n, 0), err // a failed sendmmsg comes through as -1
		}
		if b.wait == nil {
			break
		}
		if err := b.raw.Control(b.wait); err != nil {
			return 0, err
		}
		if !b.writable {
			break
		}
	}
	return 0, ErrFull
}
