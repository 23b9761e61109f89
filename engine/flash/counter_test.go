package flash_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// tally is a Counter with the number of changes that it completed, and the most
// flashes in any second up to a change.
type tally struct {
	flash.Counter
	changes [flash.NumKinds]int
	worst   flash.Rate
}

func (c *tally) Observe(now clock.Time, l fixtures.RGB) {
	for k, way := range c.Predict(l) {
		if way != flash.Level {
			c.changes[k]++
		}
	}
	c.Counter.Observe(now, l)
	for k, flashes := range c.Rate(now) {
		c.worst[k] = max(c.worst[k], flashes)
	}
}

func grey(y float64) fixtures.RGB { return fixtures.RGB{y, y, y} }

// flashing feeds a light that goes from a to b and back so many times a second,
// for ten seconds, and returns the counter.
func flashing(a, b fixtures.RGB, hz float64) *tally {
	m := &tally{}
	for n := range int(20 * hz) {
		m.Observe(clock.Time(float64(n)/hz/2*float64(clock.Second)), [2]fixtures.RGB{a, b}[n%2])
	}
	return m
}

// Trains on both sides of each limit of WCAG 2.2, 2.3.1.
func TestFlashTrains(t *testing.T) {
	red := func(ratio float64) fixtures.RGB { return fixtures.RGB{ratio, (1 - ratio) / 2, (1 - ratio) / 2} }
	for _, c := range []struct {
		name string
		a, b fixtures.RGB
		hz   float64
		over [flash.NumKinds]bool
	}{
		{"2.9 a second", grey(0), grey(1), 2.9, [2]bool{false, false}},
		{"3.0 a second", grey(0), grey(1), 3.0, [2]bool{false, false}},
		{"3.1 a second", grey(0), grey(1), 3.1, [2]bool{true, false}},
		{"a step of 9 %", grey(0.3), grey(0.39), 10, [2]bool{false, false}},
		{"a step of 11 %", grey(0.3), grey(0.41), 10, [2]bool{true, false}},
		{"a step of 10 %", grey(0.5), grey(0.6), 10, [2]bool{true, false}},
		{"darker side at 0.79", grey(0.79), grey(0.95), 10, [2]bool{true, false}},
		{"darker side at 0.81", grey(0.81), grey(0.95), 10, [2]bool{false, false}},
		{"red of 0.81", red(0.81), grey(0.25), 10, [2]bool{false, false}}, // 0.148 from white in u'v'
		{"red of 0.81 to green", red(0.81), fixtures.RGB{0, 0.3, 0}, 10, [2]bool{false, true}},
		{"red of 0.78 to green", red(0.78), fixtures.RGB{0, 0.3, 0}, 10, [2]bool{false, false}},
		{"full red and white, 2.9", fixtures.RGB{1, 0, 0}, grey(0.25), 2.9, [2]bool{false, false}},
		{"full red and white, 3.1", fixtures.RGB{1, 0, 0}, grey(0.25), 3.1, [2]bool{false, true}},
		{"dim red on and off", fixtures.RGB{0.3, 0, 0}, grey(0), 3.1, [2]bool{false, true}},
		{"red brighter and darker", fixtures.RGB{0.3, 0, 0}, fixtures.RGB{0.1, 0, 0}, 10, [2]bool{false, false}},
	} {
		m := flashing(c.a, c.b, c.hz)
		for k := range flash.NumKinds {
			assert.Equal(t, c.over[k], m.worst[k] > flash.PerSecond, "%s: %.1f %s flashes in the worst second, over %d", c.name, m.worst[k], k, flash.PerSecond)
		}
	}
}

func table(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	require.NoError(t, err)
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err, name)
	require.GreaterOrEqual(t, len(all), 2, name)
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, key := range all[0] {
			row[key] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// Every pair of states of the table, both ways round. Its source is in
// testdata/reference/README.md. For black it has no answer to red; ours is that
// black has the hue of white.
func TestFlashCases(t *testing.T) {
	for _, row := range table(t, "flash-cases.csv") {
		var c [2]fixtures.RGB
		for i, key := range []string{"state1_srgb8", "state2_srgb8"} {
			var v [3]uint8
			for n, w := range strings.Fields(row[key]) {
				v[n] = uint8(number(t, w))
			}
			c[i] = fixtures.RGB8(v[0], v[1], v[2])
			assert.InDelta(t, number(t, row[[]string{"Y1", "Y2"}[i]]), flash.Luminance(c[i]), 5e-6, "%s has luminance", row[key])
		}
		for i := range c {
			m := flash.Counter{}
			m.Observe(0, c[i])
			ch := m.Predict(c[1-i])
			want := row["general_flash_transition"] == "yes"
			assert.Equal(t, want, ch[flash.General] != flash.Level, "%v: general change", row)
			want = row["red_flash_transition"] == "yes"
			if strings.HasPrefix(row["red_flash_transition"], "undefined") {
				want = row["red_ratio1"] != ""
			}
			assert.Equal(t, want, ch[flash.Red] != flash.Level, "%v: change of red", row)
		}
	}
}

// A light that flashes once in each musical division makes as many flashes a
// second as the table says: in its worst second the whole number above at most.
func TestFlashRates(t *testing.T) {
	for _, row := range table(t, "flash-rate.csv") {
		hz := number(t, row["flashes_per_s"])
		beats := map[string]float64{
			"whole": 4, "half": 2, "quarter": 1, "eighth": 0.5, "eighth triplet": 1.0 / 3, "sixteenth": 0.25,
			"sixteenth triplet": 1.0 / 6, "thirty-second": 0.125,
		}[row["one_flash_per"]]
		require.InDelta(t, number(t, row["bpm"])/60/beats, hz, 1e-4, "%v: flashes a second", row)
		if hz > 24 {
			continue // more than a Counter counts
		}
		m := flashing(grey(0), grey(1), hz)
		got := m.worst[flash.General]
		assert.GreaterOrEqual(t, got, hz-0.5, row)
		assert.LessOrEqual(t, got, hz+0.51, row)
		for limit, key := range map[float64]string{3: "at_or_below_3_per_s", 4: "at_or_below_4_per_s"} {
			assert.NotEqual(t, row[key] == "yes", got > limit, "%v: %.1f in the worst second, over %v", row, got, limit)
		}
	}
}

// slow counts the changes of luminance in a second up to each sample by looking
// at all pairs of samples since the change before.
func slow(at []clock.Time, ys []float64) (worst int) {
	var changes []clock.Time
	since, last := 0, flash.Level
	for j := range ys {
		for i := since; i < j; i++ {
			way := flash.Rise
			if ys[j] < ys[i] {
				way = flash.Fall
			}
			if d := (ys[j] - ys[i]) * float64(way); d < flash.Step-1e-9 || min(ys[i], ys[j]) >= flash.Bright || way == last {
				continue
			}
			changes = append(changes, at[j])
			since, last = j, way
			break
		}
		n := 0
		for _, c := range changes {
			if at[j]-c < flash.Window {
				n++
			}
		}
		worst = max(worst, n)
	}
	return worst
}

// samples draws lights over a few seconds: steps, ramps, noise.
func samples(t *rapid.T) (at []clock.Time, ys []float64) {
	n := rapid.IntRange(1, 120).Draw(t, "samples")
	now, y := clock.Time(0), 0.0
	for range n {
		now += clock.Time(rapid.IntRange(1, 120).Draw(t, "ms")) * clock.Millisecond
		if rapid.Bool().Draw(t, "jump") {
			y = float64(rapid.IntRange(0, 100).Draw(t, "to")) / 100
		} else {
			y = max(0, min(1, y+float64(rapid.IntRange(-6, 6).Draw(t, "by"))/100))
		}
		at, ys = append(at, now), append(ys, y)
	}
	return at, ys
}

// The counter agrees with the slow definition.
func TestCounterAgreesWithSlowCount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at, ys := samples(t)
		m := tally{}
		for i := range ys {
			m.Observe(at[i], grey(ys[i]))
		}
		require.Equal(t, float64(slow(at, ys)), m.worst[flash.General]*2, "changes in the worst second")
	})
}

// A strict counter has at every moment at least the changes of one whose light
// differs by less than its margin.
func TestStrictCounterCountsNoLess(t *testing.T) {
	const margin = 0.005
	rapid.Check(t, func(t *rapid.T) {
		at, ys := samples(t)
		strict, other := flash.Strict(margin), flash.Counter{}
		off := 0.0
		for i := range ys {
			if i == 0 || ys[i] != ys[i-1] { // equal lights differ equally
				off = rapid.Float64Range(-margin, margin).Draw(t, "off")
			}
			strict.Observe(at[i], grey(ys[i]))
			other.Observe(at[i], grey(ys[i]+0.99*off))
			s, o := strict.Rate(at[i])[flash.General], other.Rate(at[i])[flash.General]
			require.GreaterOrEqual(t, s, o, "at %v: flashes by the strict counter, by the other", at[i])
		}
	})
}

// Longer steps never count less, and fewer samples never count more.
func TestScalingAndOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at, ys := samples(t)
		small, large, fewer := tally{}, tally{}, tally{}
		scale := rapid.Float64Range(0.1, 1).Draw(t, "scale")
		skip := rapid.IntRange(0, len(ys)-1).Draw(t, "skip")
		for i, y := range ys {
			y *= 0.79 // so that every change has a dark enough side
			small.Observe(at[i], grey(y*scale))
			large.Observe(at[i], grey(y))
			if i != skip {
				fewer.Observe(at[i], grey(y))
			}
		}
		require.LessOrEqual(t, small.changes[flash.General], large.changes[flash.General], "changes when all is scaled by %v", scale)
		require.LessOrEqual(t, fewer.changes[flash.General], large.changes[flash.General], "changes without sample %d", skip)
	})
}

// Predict says what Observe does, and changes nothing. A counter remembers 48
// changes.
func TestPredictIsObserve(t *testing.T) {
	part := rapid.Float64Range(0, 1)
	rapid.Check(t, func(t *rapid.T) {
		m := flash.Strict(rapid.SampledFrom([]float64{0, 0.005}).Draw(t, "margin"))
		for n := range rapid.IntRange(1, 48).Draw(t, "samples") {
			l := fixtures.RGB{part.Draw(t, "red"), part.Draw(t, "green"), part.Draw(t, "blue")}
			if rapid.Bool().Draw(t, "redden") {
				l[1], l[2] = l[1]*l[1]*0.2, 0
			}
			before := m
			ch := m.Predict(l)
			require.Equal(t, before, m, "asking changed the counter")
			now := clock.Time(n) * clock.Millisecond
			m.Observe(now, l)
			for k := range flash.NumKinds {
				was, _ := before.Changes(k, now)
				is, _ := m.Changes(k, now)
				require.Equal(t, ch[k] != flash.Level, is > was, "%s: said %v", k, ch[k])
			}
		}
	})
}

// Slow ramps that turn count by their turning points only.
func TestRampsCountByTheirTurns(t *testing.T) {
	m := tally{}
	now := clock.Time(0)
	for range 3 { // up over 2 s, down over 2 s
		for n := range 400 {
			y := float64(n) / 200
			if n > 200 {
				y = 2 - y
			}
			m.Observe(now, grey(y))
			now += 10 * clock.Millisecond
		}
	}
	assert.Equal(t, 6, m.changes[flash.General], "changes in three slow swells")
	assert.Equal(t, 0.5, m.worst[flash.General], "flashes in the worst second: a change in 2 s")
}

func TestObserveAllocatesNothing(t *testing.T) {
	m := flash.Strict(0.005)
	n := clock.Time(0)
	assert.Zero(t, testing.AllocsPerRun(1000, func() {
		n++
		l := grey(float64(n % 2))
		_ = m.Predict(l)
		m.Observe(n*clock.Millisecond, l)
		_ = m.Rate(n * clock.Millisecond)
	}), "allocations")
}

func BenchmarkObserve(b *testing.B) {
	var m flash.Counter
	n := clock.Time(0)
	for b.Loop() {
		n++
		m.Observe(n*22*clock.Millisecond, fixtures.RGB{float64(n%50) / 50, 0.3, 0.1})
	}
}
