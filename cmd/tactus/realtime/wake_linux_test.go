package realtime

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	hdr "github.com/HdrHistogram/hdrhistogram-go"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/clock"
)

const (
	wakePeriod = clock.Second / 44
	wakes      = 2000 // 45 s, so that the worst 20 make the p99
	// neighbourEnv makes this test program a busy neighbour, which ends with
	// its standard input, and after two minutes in any case.
	neighbourEnv = "TACTUS_TEST_NEIGHBOUR"
)

// neighbour burns processors and makes garbage until stop is called: a
// goroutine a processor, 64 kB at a time, some of it kept for a while.
func neighbour() (stop func()) {
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

// TestNeighbour is a busy process when a benchmark starts it as one.
func TestNeighbour(t *testing.T) {
	if os.Getenv(neighbourEnv) == "" {
		t.Skip("a benchmark starts this as a process of its own")
	}
	stop := neighbour()
	defer stop()
	end := make(chan struct{})
	go func() { _, _ = bufio.NewReader(os.Stdin).ReadByte(); close(end) }()
	select {
	case <-end:
	case <-time.After(2 * time.Minute):
	}
}

// neighbourProcess starts the same load as another process.
func neighbourProcess(b *testing.B) (stop func()) {
	c := exec.Command(os.Args[0], "-test.run=^TestNeighbour$")
	c.Env = append(os.Environ(), neighbourEnv+"=1")
	in, err := c.StdinPipe()
	require.NoError(b, err)
	require.NoError(b, c.Start())
	return func() { in.Close(); _ = c.Wait() }
}

// lateness runs wakes at the frame period and records how late each was.
// begin runs on the thread that waits.
func lateness(begin func(clock.Base) (wait func(clock.Time), end func())) *hdr.Histogram {
	h := hdr.New(1, int64(clock.Second), 3)
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // never undone: what was asked for ends with the thread
		base := clock.NewBase()
		wait, end := begin(base)
		defer end()
		due := base.Now()
		for range wakes {
			due += wakePeriod
			wait(due)
			_ = h.RecordValue(int64(max(base.Now()-due, 0)))
		}
	}()
	<-done
	return h
}

// ours is what "tactus run" does, with or without real-time priority.
func ours(ask bool) func(clock.Base) (func(clock.Time), func()) {
	return func(base clock.Base) (func(clock.Time), func()) {
		raiseThreads()
		end := func() {}
		if ask {
			end, _ = Raise(func() {})
		}
		return NewSleeper(base).Wait, end
	}
}

// relative is a sleep for what is left.
func relative(ask bool) func(clock.Base) (func(clock.Time), func()) {
	return func(base clock.Base) (func(clock.Time), func()) {
		_, end := ours(ask)(base)
		return func(until clock.Time) {
			for d := base.Until(until); d > 0; d = base.Until(until) {
				left := unix.NsecToTimespec(int64(d))
				_ = unix.ClockNanosleep(unix.CLOCK_MONOTONIC, 0, &left, nil)
			}
		}, end
	}
}

// ticker is the plain loop around time.Ticker; its first tick is its phase.
func ticker(base clock.Base) (func(clock.Time), func()) {
	t := time.NewTicker(time.Duration(wakePeriod))
	return func(clock.Time) { <-t.C }, t.Stop
}

// cyclictest measures the same wakes with the tool of that name (rt-tests), at
// our priority where real time is permitted, else as an ordinary thread.
func cyclictest(b *testing.B, fifo bool) *hdr.Histogram {
	args := []string{"-q", "-i", strconv.Itoa(int(wakePeriod / clock.Microsecond)), "-l", strconv.Itoa(wakes), "-h", "100000", "-t", "1"}
	if fifo {
		args = append(args, "-m", "-p", strconv.Itoa(rtPriority))
	}
	out, err := exec.Command("cyclictest", args...).CombinedOutput()
	require.NoError(b, err, "cyclictest: %s", out)
	h := hdr.New(1, int64(clock.Second), 3)
	for l := range strings.Lines(string(out)) {
		var micro, n int64
		if c, _ := fmt.Sscanf(l, "%d %d", &micro, &n); c == 2 && !bytes.HasPrefix([]byte(l), []byte("#")) {
			_ = h.RecordValues(micro*int64(clock.Microsecond), n)
		}
	}
	require.GreaterOrEqual(b, h.TotalCount(), int64(wakes*99/100), "too few wakes in what cyclictest printed: %s", out)
	return h
}

func reportWakes(b *testing.B, h *hdr.Histogram) {
	for name, q := range map[string]float64{"p50-µs": 50, "p99-µs": 99, "worst-µs": 100} {
		b.ReportMetric(float64(h.ValueAtQuantile(q))/1000, name)
	}
	b.ReportMetric(0, "ns/op") // each run takes as long as its wakes
}

// BenchmarkWake prints how late frames wake, beside the same wakes by
// cyclictest in the same scheduling class and by time.Ticker, in the same run:
// alone, and with a neighbour that computes and makes garbage. Ours and the
// ticker have the neighbour in their own process, which is harder.
func BenchmarkWake(b *testing.B) {
	_, tool := exec.LookPath("cyclictest")
	for _, busy := range []bool{false, true} {
		name, p99, p50 := "idle", 0.0, 0.0
		if busy {
			name = "busy"
		}
		with := func(start func() func(), f func() *hdr.Histogram) *hdr.Histogram {
			if busy {
				defer start()()
			}
			return f()
		}
		for _, c := range []struct {
			name  string
			begin func(clock.Base) (func(clock.Time), func())
		}{
			{"ours", ours(true)},
			{"time.Ticker", ticker},
			{"ours-ordinary-thread", ours(false)},
			{"relative-sleep", relative(true)},
			{"relative-sleep-ordinary-thread", relative(false)},
		} {
			b.Run(name+"/"+c.name, func(b *testing.B) {
				before := runtime.GOMAXPROCS(0)
				defer runtime.GOMAXPROCS(before)
				h := with(neighbour, func() *hdr.Histogram { return lateness(c.begin) })
				reportWakes(b, h)
				switch c.name {
				case "ours":
					p50, p99 = float64(h.ValueAtQuantile(50)), float64(h.ValueAtQuantile(99))
				case "time.Ticker":
					b.ReportMetric(float64(h.ValueAtQuantile(50))/max(p50, 1), "x-ours-p50")
				}
			})
		}
		b.Run(name+"/cyclictest", func(b *testing.B) {
			if tool != nil {
				b.Skip("needs cyclictest: apt-get install rt-tests")
			}
			fifo := make(chan bool, 1)
			go func() {
				runtime.LockOSThread()
				end, got := Raise(func() {})
				end()
				fifo <- got.priority != ""
			}()
			asPermitted := <-fifo
			h := with(func() func() { return neighbourProcess(b) }, func() *hdr.Histogram { return cyclictest(b, asPermitted) })
			reportWakes(b, h)
			b.ReportMetric(p99/float64(max(h.ValueAtQuantile(99), 1)), "ours-p99-x-cyclictest")
		})
	}
}
