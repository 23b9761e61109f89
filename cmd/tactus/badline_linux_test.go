package main

import (
	endian "encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// lineFaults is what a bad network does to the frames of each direction.
type lineFaults struct {
	name          string
	delay, jitter time.Duration // each frame comes later by delay ± jitter, so that jitter changes the order
	loss          float64       // part of the frames that never arrive, 0 to 1
	twice         float64       // part that arrives twice
	early         float64       // part that is not delayed, and overtakes others
}

// badLine carries Ethernet frames between two interfaces of a namespace as a bad network
// would. It needs nothing of the kernel but packet sockets (man 7 packet).
type badLine struct {
	faults               lineFaults
	sockets              [2]int
	ended                atomic.Bool
	running              sync.WaitGroup
	passed, lost         atomic.Int64
	doubled, early, late atomic.Int64
}

// newBadLine joins two interfaces of a namespace until the test ends. The random numbers
// depend on the seed alone.
func newBadLine(t *testing.T, namespace string, ends [2]string, faults lineFaults, seed uint64) *badLine {
	t.Helper()
	l := &badLine{faults: faults}
	var errs [len(ends)]error
	inNamespace(t, namespace, func() {
		for i, name := range ends {
			l.sockets[i], errs[i] = openFrames(name)
		}
	})
	require.NoError(t, errors.Join(errs[:]...), "sockets for %v", ends)
	t.Cleanup(func() {
		l.ended.Store(true)
		l.running.Wait()
		for _, s := range l.sockets {
			_ = unix.Close(s)
		}
	})
	for from := range ends {
		rng := rand.New(rand.NewPCG(seed, uint64(from)))
		l.running.Go(func() { l.carry(l.sockets[from], l.sockets[1-from], rng) })
	}
	return l
}

// openFrames opens a socket for all frames of an interface. A header before each frame
// says which checksums are still to be computed and where to cut long frames
// (PACKET_VNET_HDR): handed on as it is, the kernel does the rest as usual.
func openFrames(name string) (int, error) {
	face, err := net.InterfaceByName(name)
	if err != nil {
		return 0, err
	}
	all := endian.NativeEndian.Uint16(endian.BigEndian.AppendUint16(nil, unix.ETH_P_ALL))
	s, err := unix.Socket(unix.AF_PACKET, unix.SOCK_RAW|unix.SOCK_CLOEXEC, 0)
	if err != nil {
		return 0, err
	}
	if err := unix.SetsockoptInt(s, unix.SOL_PACKET, unix.PACKET_VNET_HDR, 1); err != nil {
		return s, fmt.Errorf("PACKET_VNET_HDR: %w", err)
	}
	look := unix.NsecToTimeval(int64(50 * time.Millisecond)) // how often carry looks for the end
	if err := unix.SetsockoptTimeval(s, unix.SOL_SOCKET, unix.SO_RCVTIMEO, &look); err != nil {
		return s, fmt.Errorf("SO_RCVTIMEO: %w", err)
	}
	return s, unix.Bind(s, &unix.SockaddrLinklayer{Protocol: all, Ifindex: face.Index})
}

// carry hands on the frames of one direction.
func (l *badLine) carry(from, to int, rng *rand.Rand) {
	buf := make([]byte, 1<<17)
	for !l.ended.Load() {
		n, sender, err := unix.Recvfrom(from, buf, 0)
		if err != nil {
			continue // nothing came, or a signal
		}
		if link, ok := sender.(*unix.SockaddrLinklayer); !ok || link.Pkttype == unix.PACKET_OUTGOING {
			continue // this namespace sent it
		}
		l.passed.Add(1)
		// Each frame takes the same count of random numbers, whatever happens to it.
		lost, twice, early, shift := rng.Float64(), rng.Float64(), rng.Float64(), rng.Float64()
		if lost < l.faults.loss {
			l.lost.Add(1)
			continue
		}
		frames := 1
		if twice < l.faults.twice {
			l.doubled.Add(1)
			frames = 2
		}
		delay := l.faults.delay + time.Duration((2*shift-1)*float64(l.faults.jitter))
		if early < l.faults.early {
			l.early.Add(1)
			delay = 0
		}
		for range frames {
			l.send(to, buf[:n], delay)
		}
	}
}

func (l *badLine) send(to int, frame []byte, delay time.Duration) {
	if delay == 0 {
		_ = unix.Send(to, frame, 0) // a cable that is down loses it
		return
	}
	l.late.Add(1)
	later := append([]byte(nil), frame...)
	l.running.Add(1)
	time.AfterFunc(delay, func() {
		defer l.running.Done()
		_ = unix.Send(to, later, 0)
	})
}

// check fails where a fault that was asked for did not happen.
func (l *badLine) check(t *testing.T) {
	t.Helper()
	t.Logf("%d frames, %d lost, %d twice, %d delayed, %d not delayed", l.passed.Load(), l.lost.Load(), l.doubled.Load(), l.late.Load(), l.early.Load())
	assert.NotZero(t, l.passed.Load(), "frames")
	assert.Equal(t, l.faults.loss > 0, l.lost.Load() > 0, "frames lost")
	assert.Equal(t, l.faults.twice > 0, l.doubled.Load() > 0, "frames twice")
	assert.Equal(t, l.faults.delay > 0, l.late.Load() > 0, "frames delayed")
	assert.Equal(t, l.faults.early > 0, l.early.Load() > 0, "frames that overtake")
}
