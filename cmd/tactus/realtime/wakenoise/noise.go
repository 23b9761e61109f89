//go:build linux

package wakenoise

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"

	hdr "github.com/HdrHistogram/hdrhistogram-go"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/realtime"
)

// Measure runs cyclictest (rt-tests) beside a benchmark, in the scheduling class
// that the loop gets. report ends it and prints how late it woke meanwhile, in ms:
// what this machine does to any program. Without the tool the row stands alone.
func Measure(b *testing.B) (report func()) {
	b.Helper()
	granted := make(chan bool, 1)
	go func() {
		runtime.LockOSThread() // never undone: the priority ends with the thread
		lower, got := realtime.Raise(func() {})
		lower()
		granted <- !strings.HasPrefix(got.String(), "no ")
	}()
	args := []string{"-q", "-i", "22727", "-h", "100000", "-t", "1"} // a frame at 44 Hz, in µs
	if <-granted {
		args = append(args, "-m", "-p", "20")
	}
	c := exec.Command("cyclictest", args...)
	var out bytes.Buffer
	c.Stdout = &out
	if c.Start() != nil {
		return func() {}
	}
	return func() {
		_ = c.Process.Signal(os.Interrupt)
		_ = c.Wait()
		h := hdr.New(1, int64(clock.Second), 3)
		for l := range strings.Lines(out.String()) {
			var micro, n int64
			if found, _ := fmt.Sscanf(l, "%d %d", &micro, &n); found == 2 {
				_ = h.RecordValues(micro*int64(clock.Microsecond), n)
			}
		}
		require.Positive(b, h.TotalCount(), "wakes in what cyclictest printed: %s", out.String())
		for name, q := range map[string]float64{"p50": 50, "p99": 99, "worst": 100} {
			b.ReportMetric(float64(h.ValueAtQuantile(q))/float64(clock.Millisecond), "cyclictest-"+name+"-ms")
		}
	}
}
