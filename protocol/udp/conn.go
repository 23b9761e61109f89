package udp

import (
	"bytes"
	"errors"
	"net"
	"net/netip"
	"slices"
	"syscall"

	"golang.org/x/net/ipv4"
)

// Errors of Write.
var (
	ErrFull    = errors.New("the send buffer is full") // the packets after it were not tried
	ErrNotSent = errors.New("nothing was sent")        // and the system gave no reason
)

// Conn is what packets are written to.
type Conn interface {
	// WriteBatch sends messages from the first on and returns how many it sent.
	// It may stop early without an error; an error with n sent belongs to
	// message n. It is ErrFull when the system has no room for the message.
	WriteBatch(ms []ipv4.Message) (n int, err error)
	Close() error
}

// Message returns a message that sends what packet holds when it is written.
func Message(packet []byte, to netip.AddrPort) ipv4.Message {
	return ipv4.Message{Buffers: [][]byte{packet}, Addr: net.UDPAddrFromAddrPort(to)}
}

// maxBatch is the most messages that Linux takes in one call (UIO_MAXIOV).
const maxBatch = 1024

// Write sends ms, stepping over messages that fail, and returns how many it
// sent. It tells failed of each of the others, by its index. After a failure it
// asks for one message, then two, then four: a batch in which all fail must not
// be prepared from its whole rest each time. It allocates nothing.
func Write(c Conn, ms []ipv4.Message, failed func(i int, err error)) (sent int) {
	step := maxBatch
	for i := 0; i < len(ms); {
		n, err := c.WriteBatch(ms[i:min(i+step, len(ms))])
		i += n
		sent += n
		if n > 0 {
			step = min(step*2, maxBatch)
			if err == nil {
				continue
			}
		}
		step = 1
		end := min(i+1, len(ms))
		switch {
		case err == nil:
			err = ErrNotSent
		case errors.Is(err, syscall.EAGAIN), errors.Is(err, syscall.ENOBUFS), errors.Is(err, ErrFull):
			err, end = ErrFull, len(ms) // late light is worse than lost light
		case errors.Is(err, net.ErrClosed):
			end = len(ms)
		}
		for ; i < end; i++ {
			failed(i, err)
		}
	}
	return sent
}

// Gone reports whether err means that the socket or its interface has gone, so
// that another socket may work.
func Gone(err error) bool {
	var e syscall.Errno
	return errors.Is(err, net.ErrClosed) || errors.As(err, &e) && slices.Contains(goneErrors[:], e)
}

// Capture returns a Conn that hands every packet and where it would have gone
// to take, in place of a network. take may not keep the packet.
func Capture(take func(to netip.AddrPort, packet []byte)) Conn { return capture{take} }

type capture struct {
	take func(to netip.AddrPort, packet []byte)
}

// WriteBatch takes all of ms.
func (c capture) WriteBatch(ms []ipv4.Message) (int, error) {
	for i := range ms {
		to := ms[i].Addr.(*net.UDPAddr).AddrPort()
		c.take(netip.AddrPortFrom(to.Addr().Unmap(), to.Port()), bytes.Join(ms[i].Buffers, nil))
	}
	return len(ms), nil
}

// Close does nothing.
func (c capture) Close() error { return nil }
