package engine

import (
	"errors"
	"math"
	"net"
	"net/netip"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/artnet"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
)

// checkOutput holds an output to what Output promises: Send leaves the
// universes as they are, is quick, keeps off the heap once warm, and takes
// the same buffer again with other levels; Close works once, and a Send after
// it does not panic. open gives a new output that takes two universes.
func checkOutput(t *testing.T, open func(t *testing.T) Output) {
	t.Helper()
	o := open(t)
	u := make([]dmx.Universe, 2)
	fill := func(n int) {
		for i := range u {
			for s := range u[i].Slots {
				u[i].Slots[s] = byte(n + i + s)
			}
		}
	}
	now := clock.Second
	frame := func() error { now += clock.Second / dmx.MaxRate; return o.Send(now, u, nil) }
	began := time.Now()
	for n := range 50 {
		fill(n)
		want := [2]dmx.Universe{u[0], u[1]}
		require.NoError(t, frame(), "frame %d", n)
		require.Equal(t, want, [2]dmx.Universe(u), "frame %d: Send changed the levels", n)
	}
	assert.LessOrEqual(t, time.Since(began), 5*time.Second, "50 frames took: Send waits for something")
	var failed error
	// An output may look at the network in a goroutine of its own, four times a second: the
	// least of some counts is what frames allocate.
	n := math.Inf(1)
	for range 5 {
		n = min(n, testing.AllocsPerRun(100, func() { failed = errors.Join(failed, frame()) }))
	}
	assert.NoError(t, failed, "Send")
	// which lets x/net's pools forget
	if !raceDetector {
		assert.Zero(t, n, "allocations a frame; garbage makes late frames")
	}
	assert.NoError(t, o.Close(), "Close")
	_ = frame() // may fail, must not panic
}

func TestOutputs(t *testing.T) {
	t.Run("recorder", func(t *testing.T) {
		checkOutput(t, func(*testing.T) Output { return &recorder{keep: 1} })
	})
	t.Run("sACN", func(t *testing.T) {
		checkOutput(t, func(t *testing.T) Output {
			c := sacn.SenderConfig{
				CID: [16]byte{1}, SourceName: "hall",
				Universes: []sacn.UniverseConfig{{Source: 0, Number: 1}, {Source: 1, Number: 2}},
			}
			s, err := sacn.NewSender(c.ToAddress(listener(t)))
			require.NoError(t, err)
			return s
		})
	})
	t.Run("Art-Net", func(t *testing.T) {
		checkOutput(t, func(t *testing.T) Output {
			to := []netip.AddrPort{listener(t)}
			s, err := artnet.NewSender(artnet.SenderConfig{Universes: []artnet.UniverseConfig{
				{Source: 0, PortAddress: 1, Nodes: to}, {Source: 1, PortAddress: 2, Nodes: to},
			}})
			require.NoError(t, err)
			return s
		})
	})
}

// listener is a UDP port on loopback that nobody reads.
func listener(t *testing.T) netip.AddrPort {
	t.Helper()
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	t.Cleanup(func() { c.Close() })
	return c.LocalAddr().(*net.UDPAddr).AddrPort()
}

// recorder is an output that remembers. A loop and a test share it.
type recorder struct {
	keep int // how many of the last frames to keep; 0: all

	mu   sync.Mutex
	fail error
	quit bool // end the goroutine that sends
	record
}

// record is what a recorder has seen.
type record struct {
	sent   int
	closed int
	at     []clock.Time
	frames []dmx.Universe // the first universe of each frame
}

var errWire = errors.New("no wire")

func (r *recorder) Send(now clock.Time, u []dmx.Universe, due []bool) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.quit {
		runtime.Goexit()
	}
	if r.keep > 0 && len(r.at) == r.keep {
		r.at[r.sent%r.keep], r.frames[r.sent%r.keep] = now, u[0]
	} else {
		r.at, r.frames = append(r.at, now), append(r.frames, u[0])
	}
	r.sent++
	return r.fail
}

func (r *recorder) Close() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.closed++
	return r.fail
}

// set changes how the recorder behaves.
func (r *recorder) set(fail error, quit bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.fail, r.quit = fail, quit
}

// seen returns a copy of the record, oldest frame first.
func (r *recorder) seen() record {
	r.mu.Lock()
	defer r.mu.Unlock()
	c := r.record
	first := 0
	if r.keep > 0 && len(r.at) == r.keep {
		first = r.sent % r.keep
	}
	c.at = slices.Concat(r.at[first:], r.at[:first])
	c.frames = slices.Concat(r.frames[first:], r.frames[:first])
	return c
}

// last returns a slot (from 1) of the last frame.
func (r record) last(slot int) byte { return r.frames[len(r.frames)-1].Slots[slot-1] }
