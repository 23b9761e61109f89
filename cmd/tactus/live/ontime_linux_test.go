package live

import (
	"context"
	"encoding/binary"
	"math"
	"net"
	"os"
	"runtime"
	"runtime/metrics"
	"slices"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/cmd/tactus/laptop"
	"tactus/cmd/tactus/realtime/wakenoise"
	"tactus/cmd/tactus/senders"
	"tactus/engine"
	"tactus/protocol/sacn"
	"tactus/shows/plan"
	"tactus/shows/showtest"
)

// arrivals receives the packets of a run, with the kernel's times.
type arrivals struct {
	conn *net.UDPConn
	ends chan struct{}
	at   []int64 // of the first universe's packets, in ns
}

func receiveAll(t testing.TB) *arrivals {
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	raw, err := c.SyscallConn()
	require.NoError(t, err)
	require.NoError(t, raw.Control(func(fd uintptr) {
		assert.NoError(t, unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_TIMESTAMPNS, 1))
	}))
	a := &arrivals{conn: c, ends: make(chan struct{}), at: make([]int64, 0, 10000)}
	go a.read()
	t.Cleanup(a.end)
	return a
}

func (a *arrivals) read() {
	defer close(a.ends)
	packet, control, first := make([]byte, 2000), make([]byte, 200), uint16(0)
	var p sacn.DataPacket
	for {
		n, oob, _, _, err := a.conn.ReadMsgUDP(packet, control)
		if err != nil {
			return
		}
		if kind, _ := sacn.KindOf(packet[:n]); kind != sacn.Data || p.Parse(packet[:n]) != nil {
			continue
		}
		if first == 0 {
			first = p.Universe
		}
		if p.Universe == first && p.Options&sacn.StreamTerminated == 0 && oob >= unix.CmsgLen(16) {
			stamp := control[unix.CmsgLen(0):] // SCM_TIMESTAMPNS: a struct timespec (socket(7))
			a.at = append(a.at, int64(binary.NativeEndian.Uint64(stamp))*1e9+int64(binary.NativeEndian.Uint64(stamp[8:])))
		}
	}
}

// end ends it; then its fields may be read.
func (a *arrivals) end() {
	a.conn.Close()
	<-a.ends
}

// gaps returns by how much the time between packets differs from a frame's, in ms: the
// 99 % that differ less, and the worst.
func (a *arrivals) gaps() (p99, worst float64) {
	var off []float64
	for i := range len(a.at) - 1 {
		off = append(off, math.Abs(float64(a.at[i+1]-a.at[i])-1e9/44)/1e6)
	}
	slices.Sort(off)
	return off[len(off)*99/100], off[len(off)-1]
}

// onTheWire runs the demo in real time to a receiver on this computer, until look returns.
func onTheWire(t testing.TB, f *Options, look func(*page, *Session)) (*arrivals, engine.Health) {
	a := receiveAll(t)
	show := showtest.Demo(t)
	f.Options = senders.Options{Protocol: senders.SACN, To: a.conn.LocalAddr().String(), State: t.TempDir()}
	f.Clock, f.Grid, f.Exact, f.Page, f.PageAt = "internal", "free", true, true, "127.0.0.1:0"
	s, err := New(show, f, zerolog.Nop())
	require.NoError(t, err)
	require.NoError(t, s.OpenPage(f, false, &Notice{}))
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error)
	go func() { done <- s.Run(ctx) }()
	look(s.page, s)
	cancel()
	require.NoError(t, <-done)
	a.end()
	var snap engine.Snapshot
	s.Snapshot(&snap)
	return a, snap.Health
}

// reloadOf sends the run its show anew, as after an edit.
func reloadOf(t testing.TB, s *Session) {
	r, err := engine.NewReload(s.show.Program, showtest.Demo(t).Program)
	require.NoError(t, err)
	require.True(t, s.TrySend(engine.Input{Reload: r}))
}

// churn computes on all processors and makes garbage in this process until stop is called.
func churn() (stop func()) {
	var over atomic.Bool
	done := make(chan struct{})
	n := runtime.NumCPU()
	for range n {
		go func() {
			var kept [64][]byte
			for i := 0; !over.Load(); i++ {
				b := make([]byte, 64<<10)
				for j := range b {
					b[j] = byte(i * j)
				}
				kept[i%len(kept)] = b
			}
			done <- struct{}{}
		}()
	}
	return func() {
		over.Store(true)
		for range n {
			<-done
		}
	}
}

// rehearseOften does what "tactus check" does, over and over, until ctx ends.
func rehearseOften(ctx context.Context, t testing.TB) (ended chan struct{}) {
	ended = make(chan struct{})
	show := showtest.Demo(t)
	go func() {
		defer close(ended)
		for ctx.Err() == nil {
			_, _ = plan.Measure(ctx, show, plan.Options{})
		}
	}()
	return ended
}

// worstStop returns the longest time for which the collector has stopped this process, in ms,
// and the longest that it took to stop it, as the runtime counts them.
func worstStop() (stopped, stopping float64) {
	samples := []metrics.Sample{{Name: "/sched/pauses/total/gc:seconds"}, {Name: "/sched/pauses/stopping/gc:seconds"}}
	metrics.Read(samples)
	var worst [2]float64
	for i := range samples {
		h := samples[i].Value.Float64Histogram()
		for k, n := range h.Counts {
			if n > 0 {
				worst[i] = h.Buckets[k] * 1000
			}
		}
	}
	return worst[0], worst[1]
}

// BenchmarkOnTime prints how late frames of a run wake, and by how much the time between
// packets differs from a frame's. In "watched" three browsers look on, the night is checked
// and the show reloaded; "busy" adds a neighbour in the same process that computes on all
// processors and makes garbage. cyclictest runs beside. "stop" is the longest stop of the
// collector so far, "stopping" how long it took until all threads had stopped.
// TACTUS_WAKES is how many frames a run has.
func BenchmarkOnTime(b *testing.B) {
	frames, _ := strconv.Atoi(os.Getenv("TACTUS_WAKES"))
	if frames <= 0 {
		frames = 2000
	}
	for _, load := range []string{"idle", "watched", "busy"} {
		b.Run(load, func(b *testing.B) {
			f := &Options{RealTime: true, Probe: laptop.NewProbe()}
			noise := wakenoise.Measure(b)
			a, health := onTheWire(b, f, func(p *page, s *Session) {
				whole := time.Duration(frames) * time.Second / 44
				if load == "idle" {
					<-time.After(whole)
					return
				}
				crowd(b, p.listen.Addr().String(), 3, 0)
				ctx, cancel := context.WithCancel(context.Background())
				checks := rehearseOften(ctx, b)
				if load == "busy" {
					defer churn()()
				}
				<-time.After(whole / 2)
				reloadOf(b, s)
				<-time.After(whole / 2)
				cancel()
				<-checks
			})
			noise()
			late := f.Probe.Late()
			p99, worst := a.gaps()
			stopped, stopping := worstStop()
			for name, value := range map[string]float64{
				"late-p50-ms": late.P50, "late-p99-ms": late.P99, "late-worst-ms": late.Worst, "gap-p99-ms": p99, "gap-worst-ms": worst,
				"missed": float64(health.Missed), "wakes": float64(f.Probe.Wakes()), "stop-worst-ms": stopped, "stopping-worst-ms": stopping,
			} {
				b.ReportMetric(value, name)
			}
			b.ReportMetric(0, "ns/op") // a run takes as long as it takes
		})
	}
}
