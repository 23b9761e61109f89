package clock

import (
	"bufio"
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const traces = "../testdata/midi"

var update = flag.Bool("update", false, "rewrite the traces of testdata/midi that come from models")

// modelled are the traces in testdata/midi that come from models, with seed 1.
var modelled = []struct {
	name, about string
	make        func() *trace
}{
	{"steady-wired", "120 BPM, 1 ms model", func() *trace { return steadyRow(120, wired)(1) }},
	{"steady-poor", "120 BPM, 5 ms model", func() *trace { return steadyRow(120, poor)(1) }},
	{"ramp-poor", "120 BPM, from tick 192 on rising by 6 BPM a minute, 5 ms model", func() *trace { return rampRow(120, 6, poor)(1) }},
	{"step-poor", "120 BPM, from tick 480 on 122, 5 ms model", func() *trace { return stepRow(120, 2, poor)(1) }},
	{"wifi", "120 BPM, 1 ms model, stalls of 40 ms from tick 96 on, one in every 2 s", func() *trace {
		return newTrace(steady(BPM(120), 1200)).stall(96, 40*Millisecond, 40*Millisecond, 2*Second, 1).arrive(model(wired), 1)
	}},
	{"lost-doubled", "120 BPM, 1 ms model, from tick 100 on 1 % of ticks lost and 1 % doubled", func() *trace {
		return newTrace(steady(BPM(120), 1200)).fault(100, 0.01, 0.01, 1).arrive(model(wired), 1)
	}},
}

// text writes a trace's ticks as testdata/midi has them. A tick that was doubled
// stands for the first of the two that arrived.
func (t *trace) text(about string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# %s\n", about)
	next := 0
	arrivals := func(n int) {
		for ; n > 0; n-- {
			for t.events[next].Kind != Tick24 {
				next++
			}
			fmt.Fprintf(&b, " %d", t.events[next].At/Microsecond)
			next++
		}
	}
	for i, at := range t.sent {
		fmt.Fprint(&b, int64(at/Microsecond))
		switch {
		case t.gone[i]:
			b.WriteString(" -")
		case t.twice[i]:
			arrivals(2)
		default:
			arrivals(1)
		}
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// readTrace reads a file of testdata/midi.
func readTrace(tb testing.TB, name string) *trace {
	tb.Helper()
	src, err := os.ReadFile(filepath.Join(traces, name+".trace"))
	require.NoError(tb, err)
	var sent []Time
	var ticks []Event
	lines := bufio.NewScanner(bytes.NewReader(src))
	for n := 1; lines.Scan(); n++ {
		words := strings.Fields(lines.Text())
		if len(words) == 0 || words[0] == "#" {
			continue
		}
		for i, w := range words {
			if w == "-" {
				continue
			}
			us, err := strconv.ParseInt(w, 10, 64)
			require.NoError(tb, err, "%s.trace:%d", name, n)
			if at := Time(us) * Microsecond; i == 0 {
				sent = append(sent, at)
			} else {
				ticks = append(ticks, Event{At: at, Kind: Tick24})
			}
		}
	}
	t := newTrace(sent)
	t.events = append(t.other, ticks...)
	return t
}

// The modelled traces in testdata are what the models make, to the byte.
func TestGoldenTraces(t *testing.T) {
	for _, m := range modelled {
		path, want := filepath.Join(traces, m.name+".trace"), m.make().text(m.about)
		if *update {
			require.NoError(t, os.WriteFile(path, want, 0o644))
		}
		got, err := os.ReadFile(path)
		assert.NoError(t, err, "-update writes it")
		assert.Equal(t, string(want), string(got), "%s is not what its model makes; -update writes it anew", path)
	}
}

// TestReplay plays every stored trace, modelled or recorded, to the Transport
// and to both references.
func TestReplay(t *testing.T) {
	limits := map[string]float64{ // p99, ms
		"steady-wired": 0.3, "steady-poor": 0.5, "ramp-poor": 2.2, "step-poor": 2.8,
		"wifi": 0.3, "lost-doubled": 0.3, "pipe-idle": 0.3, "pipe-busy": 4.7,
	}
	files, err := filepath.Glob(traces + "/*.trace")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), len(limits))
	for _, path := range files {
		name := strings.TrimSuffix(filepath.Base(path), ".trace")
		tr := readTrace(t, name)
		plain, loop := tr.rivals()
		ours := percentile(offs(tr.ours(192)), 0.99)
		last, dll := percentile(offs(tr.rival(192, plain)), 0.99), percentile(offs(tr.rival(192, loop)), 0.99)
		t.Logf("%-12s p99 %.2f ms; last tick %.2f, loop %.2f", name, ours, last, dll)
		limit, ok := limits[name]
		assert.True(t, ok, name)
		assert.LessOrEqual(t, ours, limit, name)
	}
}

// Position.Err is honest: the beat is hardly ever further off than it says, and
// it does not say much more than need be.
func TestErrIsHonest(t *testing.T) {
	NumbersOnly(t)
	for _, c := range []struct {
		bpm   float64
		sigma Time
		most  Time // of Err, once locked
	}{{80, wired, Millisecond}, {120, wired, Millisecond}, {80, poor, 5 * Millisecond}, {120, poor, 3 * Millisecond}, {240, poor, 6 * Millisecond}} {
		inside, n, most := 0, 0, Time(0)
		for seed := range uint64(10) {
			tr := steadyRow(c.bpm, c.sigma)(seed)
			p := NewTransport(Config{})
			said := tr.follow(192, p.Handle, func(at Time, i int) (float64, float64, Sync) {
				q := p.At(at)
				most = max(most, q.Err)
				off := (float64(q.Beat)/float64(Tick) - tr.pos[i]) * float64(tr.sent[i+1]-tr.sent[i])
				if math.Abs(off-float64(at-tr.sent[i])) <= float64(q.Err) {
					inside++
				}
				return 0, 0, q.Sync
			})
			n += len(said)
		}
		share := float64(inside) / float64(n)
		t.Logf("%v BPM, σ %v: within Err %.1f %% of the time; Err at most %v", c.bpm, c.sigma.Sub(0), 100*share, most.Sub(0))
		assert.GreaterOrEqual(t, share, 0.95, "%v BPM, σ %v: share of the time within Err", c.bpm, c.sigma.Sub(0))
		assert.LessOrEqual(t, most, c.most, "%v BPM, σ %v: highest Err in ns", c.bpm, c.sigma.Sub(0))
	}
}
