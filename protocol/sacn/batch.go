package sacn

import (
	"errors"
	"fmt"
	"net"
	"net/netip"

	"golang.org/x/net/ipv4"
)

// Conn is what a Sender writes to. WriteBatch sends messages from the first on
// and returns how many it sent; it may stop early without an error. An error
// with n sent belongs to message n.
type Conn interface {
	WriteBatch(ms []ipv4.Message, flags int) (n int, err error)
	Close() error
}

// SendError is a packet that did not leave.
type SendError struct {
	Universe uint16 // 0 for the list of universes
	To       netip.AddrPort
	Err      error
}

// Error names the universe and the destination.
func (e *SendError) Error() string {
	if e.Universe == 0 {
		return fmt.Sprintf("sacn: list of universes to %s: %v", e.To, e.Err)
	}
	return fmt.Sprintf("sacn: universe %d to %s: %v", e.Universe, e.To, e.Err)
}

// Unwrap returns the system's error.
func (e *SendError) Unwrap() error { return e.Err }

// maxBatch is the most messages that Linux takes in one call (UIO_MAXIOV).
const maxBatch = 1024

// batch is all packets of one frame.
type batch struct {
	messages []ipv4.Message
	owners   []int32 // index of the stream, or -1
}

func newMessage(packet []byte, to netip.AddrPort) ipv4.Message {
	return ipv4.Message{Buffers: [][]byte{packet}, Addr: net.UDPAddrFromAddrPort(to)}
}

func (b *batch) reset() { b.messages, b.owners = b.messages[:0], b.owners[:0] }

func (b *batch) add(owner int, ms []ipv4.Message) {
	b.messages = append(b.messages, ms...)
	for range ms {
		b.owners = append(b.owners, int32(owner))
	}
}

// outcome is what became of a batch.
type outcome struct {
	sent, failed int
	dead         bool  // an error says that the socket or the interface is gone
	first        error // a *SendError
}

// write sends the batch, looping over short writes and stepping over messages
// that fail. After a failure it asks for one message, then two, then four: a
// batch in which all fail must not be prepared from its whole rest each time.
func (b *batch) write(c Conn, failed func(owner int)) (o outcome) {
	step := maxBatch
	for i := 0; i < len(b.messages); {
		n, err := c.WriteBatch(b.messages[i:min(i+step, len(b.messages))], 0)
		n = max(n, 0) // a failed sendmmsg comes through as -1
		i += n
		o.sent += n
		if n > 0 {
			step = min(step*2, maxBatch)
		}
		if err == nil && n == 0 {
			err = errNoProgress
		}
		if err == nil {
			continue
		}
		step = 1
		end := min(i+1, len(b.messages))
		if errors.Is(err, ErrBusy) || errors.Is(err, net.ErrClosed) {
			end = len(b.messages) // the rest would fail too
		}
		o.dead = o.dead || isDead(err)
		for ; i < end; i++ {
			o.failed++
			failed(int(b.owners[i]))
			if o.first == nil {
				o.first = b.fail(i, err)
			}
		}
	}
	return o
}

var errNoProgress = errors.New("nothing was sent")

// fail wraps err with what message i was.
func (b *batch) fail(i int, err error) error {
	m := &b.messages[i]
	e := &SendError{Err: err}
	if kind, _ := KindOf(m.Buffers[0]); kind == Data {
		e.Universe = uint16(m.Buffers[0][offUniverse])<<8 | uint16(m.Buffers[0][offUniverse+1])
	} else if kind == Sync {
		e.Universe = uint16(m.Buffers[0][45])<<8 | uint16(m.Buffers[0][46])
	}
	if a, ok := m.Addr.(*net.UDPAddr); ok {
		e.To = a.AddrPort()
	}
	return e
}
