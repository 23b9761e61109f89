package live

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/laptop"
	"tactus/cmd/tactus/realtime/wakenoise"
	"tactus/cmd/tactus/senders"
	"tactus/engine"
	"tactus/shows/showtest"
)

// viewersEnv makes this test program a crowd of browsers: address, how many read,
// how many stand still.
const viewersEnv = "TACTUS_TEST_VIEWERS"

// TestViewers is a crowd when another test starts it as one. It ends with its
// standard input, and after two minutes in any case.
func TestViewers(t *testing.T) {
	var address string
	var reading, stalled int
	if n, _ := fmt.Sscan(os.Getenv(viewersEnv), &address, &reading, &stalled); n != 3 {
		t.Skip("another test starts this as a process of its own")
	}
	for i := range reading + stalled {
		c, err := net.Dial("tcp", address)
		require.NoError(t, err)
		defer c.Close()
		if tcp, ok := c.(*net.TCPConn); ok && i >= reading {
			_ = tcp.SetReadBuffer(1 << 10)
		}
		_, err = fmt.Fprintf(c, "GET /api/v1/events?slots=1 HTTP/1.1\r\nHost: %s\r\n\r\n", address)
		require.NoError(t, err)
		if i < reading {
			go func() { _, _ = io.Copy(io.Discard, c) }()
		}
	}
	fmt.Println("looking on")
	end := make(chan struct{})
	go func() { _, _ = bufio.NewReader(os.Stdin).ReadByte(); close(end) }()
	select {
	case <-end:
	case <-time.After(2 * time.Minute):
	}
}

// crowd starts that process and waits until all look on.
func crowd(t testing.TB, address string, reading, stalled int) {
	t.Helper()
	c := exec.Command(os.Args[0], "-test.run=^TestViewers$")
	c.Env = append(os.Environ(), viewersEnv+"="+strings.Join([]string{address, strconv.Itoa(reading), strconv.Itoa(stalled)}, " "))
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	t.Cleanup(func() { in.Close(); _ = c.Wait() })
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if strings.Contains(lines.Text(), "looking on") {
			return
		}
	}
	require.Fail(t, "nobody looks on")
}

// watched is a run of the demo in real time with a page, until look returns.
func watched(t testing.TB, look func(*page, *Session)) *laptop.Probe {
	t.Helper()
	f := &Options{Options: senders.Options{Protocol: senders.Virtual}, Clock: "internal", Exact: true, RealTime: true, Page: true, PageAt: "127.0.0.1:0", Probe: laptop.NewProbe()}
	show := showtest.Demo(t)
	s, err := New(show, f, zerolog.Nop())
	require.NoError(t, err)
	require.NoError(t, s.OpenPage(f, false, &Notice{}))
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); _ = s.Run(ctx) }()
	look(s.page, s)
	cancel()
	<-done
	return f.Probe
}

// BenchmarkViewers says how late frames wake while a hundred browsers look on,
// twenty of which have stopped to read, beside nobody in the same run.
func BenchmarkViewers(b *testing.B) {
	var alone float64
	for _, c := range []struct {
		name             string
		reading, stalled int
	}{{"nobody", 0, 0}, {"ours", 80, 20}} {
		b.Run(c.name, func(b *testing.B) {
			var snap engine.Snapshot
			noise := wakenoise.Measure(b)
			p := watched(b, func(p *page, s *Session) {
				if c.reading > 0 {
					crowd(b, p.listen.Addr().String(), c.reading, c.stalled)
				}
				<-time.After(46 * time.Second) // more than 2,000 wakes
				s.Snapshot(&snap)
			})
			noise()
			late := p.Late()
			b.ReportMetric(late.P50*1000, "p50-µs")
			b.ReportMetric(late.P99*1000, "p99-µs")
			b.ReportMetric(late.Worst*1000, "worst-µs")
			b.ReportMetric(float64(snap.Health.Missed), "missed")
			b.ReportMetric(0, "ns/op") // a run takes as long as it takes
			if c.reading == 0 {
				alone = late.P99
				return
			}
			b.ReportMetric(late.P99/max(alone, 0.001), "p99-x-nobody")
		})
	}
}

// Those who do not read are let go, and the others never notice.
func TestStalledViewersAreLetGo(t *testing.T) {
	watched(t, func(p *page, s *Session) {
		crowd(t, p.listen.Addr().String(), 80, 20)
		end, tick := time.After(viewerWait), time.NewTicker(50*time.Millisecond)
		defer tick.Stop()
		most := 0
		for n := 0; most < 100 || n != 80; n = p.panel.Viewers() {
			if most = max(most, n); most == 100 {
				require.GreaterOrEqual(t, n, 80, "one that reads was let go")
			}
			select {
			case <-end:
				require.Fail(t, fmt.Sprintf("%d still look on", n))
			case <-tick.C:
			}
		}
		var snap engine.Snapshot
		s.Snapshot(&snap)
		assert.NotZero(t, snap.Health.Frames, "no frames")
	})
}

// A client that sends its request letter by letter is let go.
func TestSlowRequestsAreLetGo(t *testing.T) {
	watched(t, func(p *page, _ *Session) {
		c, err := net.Dial("tcp", p.listen.Addr().String())
		require.NoError(t, err)
		defer c.Close()
		gone := make(chan struct{})
		go func() { defer close(gone); _, _ = io.Copy(io.Discard, c) }()
		tick := time.NewTicker(200 * time.Millisecond)
		defer tick.Stop()
		end := time.After(viewerWait)
		for text := "GET /api/v1/show HTTP/1.1\r\nX: " + strings.Repeat("x", 1<<10); ; text = text[1:] {
			_, _ = io.WriteString(c, text[:1])
			select {
			case <-gone:
				return
			case <-end:
				require.Fail(t, "it is still listened to")
			case <-tick.C:
			}
		}
	})
}

// viewerWait is how long anything may take on a busy computer.
const viewerWait = 60 * time.Second
