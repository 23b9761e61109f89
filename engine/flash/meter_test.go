package flash

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
)

func grey(y float64) fixtures.RGB { return fixtures.RGB{y, y, y} }

// flashing feeds a light that goes from a to b and back so many times a second,
// for ten seconds, and returns the meter.
func flashing(a, b fixtures.RGB, hz float64) *Meter {
	m := &Meter{}
	for n := range int(20 * hz) {
		m.See(clock.Time(float64(n)/hz/2*float64(clock.Second)), [2]fixtures.RGB{a, b}[n%2])
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
		over [NumKinds]bool
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
		for k := range NumKinds {
			w := m.Worst(k)
			if over := w.Flashes > PerSecond; over != c.over[k] {
				t.Errorf("%s: %.1f %s flashes in the worst second, over %d: want %v", c.name, w.Flashes, k, PerSecond, c.over[k])
			}
		}
	}
}

func table(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	f, err := os.Open("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil || len(all) < 2 {
		t.Fatalf("%s: %v", name, err)
	}
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
	if err != nil {
		t.Fatal(err)
	}
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
			if y, want := Luminance(c[i]), number(t, row[[]string{"Y1", "Y2"}[i]]); y-want > 5e-6 || want-y > 5e-6 {
				t.Errorf("%s has luminance %.6f, want %.6f", row[key], y, want)
			}
		}
		for i := range c {
			m := Meter{}
			m.See(0, c[i])
			ch := m.Would(c[1-i])
			want := row["general_flash_transition"] == "yes"
			if got := ch[General] != Level; got != want {
				t.Errorf("%v: general change %v, want %v", row, got, want)
			}
			want = row["red_flash_transition"] == "yes"
			if strings.HasPrefix(row["red_flash_transition"], "undefined") {
				want = row["red_ratio1"] != ""
			}
			if got := ch[Red] != Level; got != want {
				t.Errorf("%v: change of red %v, want %v", row, got, want)
			}
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
		if want := number(t, row["bpm"]) / 60 / beats; hz-want > 1e-4 || want-hz > 1e-4 {
			t.Fatalf("%v: %v flashes a second", row, want)
		}
		if hz > 24 {
			continue // more than a meter counts
		}
		m := flashing(grey(0), grey(1), hz)
		got := m.Worst(General).Flashes
		if got < hz-0.5 || got > hz+0.51 {
			t.Errorf("%v: %.1f in the worst second", row, got)
		}
		for limit, key := range map[float64]string{3: "at_or_below_3_per_s", 4: "at_or_below_4_per_s"} {
			if over := got > limit; over == (row[key] == "yes") {
				t.Errorf("%v: %.1f in the worst second, over %v: %v", row, got, limit, over)
			}
		}
	}
}

// slow counts the changes of luminance in a second up to each sample by looking
// at all pairs of samples since the change before.
func slow(at []clock.Time, ys []float64) (worst int) {
	var changes []clock.Time
	since, last := 0, Level
	for j := range ys {
		for i := since; i < j; i++ {
			way := Rise
			if ys[j] < ys[i] {
				way = Fall
			}
			if d := (ys[j] - ys[i]) * float64(way); d < Step-tiny || min(ys[i], ys[j]) >= Bright || way == last {
				continue
			}
			changes = append(changes, at[j])
			since, last = j, way
			break
		}
		n := 0
		for _, c := range changes {
			if at[j]-c < Window {
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

// The meter agrees with the slow definition.
func TestMeterAgreesWithSlowCount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at, ys := samples(t)
		m := Meter{}
		for i := range ys {
			m.See(at[i], grey(ys[i]))
		}
		if got, want := m.Worst(General).Flashes*2, float64(slow(at, ys)); got != want {
			t.Fatalf("%v changes in the worst second, want %v", got, want)
		}
	})
}

// A strict meter has at every moment at least the changes of one whose light
// differs by less than its margin.
func TestStrictMeterCountsNoLess(t *testing.T) {
	const margin = 0.005
	rapid.Check(t, func(t *rapid.T) {
		at, ys := samples(t)
		strict, other := Strict(margin), Meter{}
		off := 0.0
		for i := range ys {
			if i == 0 || ys[i] != ys[i-1] { // equal lights differ equally
				off = rapid.Float64Range(-margin, margin).Draw(t, "off")
			}
			strict.See(at[i], grey(ys[i]))
			other.See(at[i], grey(ys[i]+0.99*off))
			s, o := strict.Rate(at[i])[General], other.Rate(at[i])[General]
			if s < o {
				t.Fatalf("at %v: %v flashes by the strict meter, %v by the other", at[i], s, o)
			}
		}
	})
}

// Longer steps never count less, and fewer samples never count more.
func TestScalingAndOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at, ys := samples(t)
		small, large, fewer := Meter{}, Meter{}, Meter{}
		scale := rapid.Float64Range(0.1, 1).Draw(t, "scale")
		skip := rapid.IntRange(0, len(ys)-1).Draw(t, "skip")
		for i, y := range ys {
			y *= 0.79 // so that every change has a dark enough side
			small.See(at[i], grey(y*scale))
			large.See(at[i], grey(y))
			if i != skip {
				fewer.See(at[i], grey(y))
			}
		}
		if small.Total(General) > large.Total(General) {
			t.Fatalf("%d changes when all is scaled by %v, %d at full", small.Total(General), scale, large.Total(General))
		}
		if fewer.Total(General) > large.Total(General) {
			t.Fatalf("%d changes without sample %d, %d with it", fewer.Total(General), skip, large.Total(General))
		}
	})
}

// Would says what See does, and changes nothing.
func TestWouldIsSee(t *testing.T) {
	part := rapid.Float64Range(0, 1)
	rapid.Check(t, func(t *rapid.T) {
		m := Strict(rapid.SampledFrom([]float64{0, 0.005}).Draw(t, "margin"))
		for n := range rapid.IntRange(1, 60).Draw(t, "samples") {
			l := fixtures.RGB{part.Draw(t, "red"), part.Draw(t, "green"), part.Draw(t, "blue")}
			if rapid.Bool().Draw(t, "redden") {
				l[1], l[2] = l[1]*l[1]*0.2, 0
			}
			before := m
			ch := m.Would(l)
			if m != before {
				t.Fatal("asking changed the meter")
			}
			m.See(clock.Time(n)*clock.Millisecond, l)
			for k := range NumKinds {
				if counted := m.Total(k) > before.Total(k); counted != (ch[k] != Level) {
					t.Fatalf("%s: said %v, counted %v", k, ch[k], counted)
				}
			}
		}
	})
}

// Slow ramps that turn count by their turning points only.
func TestRampsCountByTheirTurns(t *testing.T) {
	m := Meter{}
	now := clock.Time(0)
	for range 3 { // up over 2 s, down over 2 s
		for n := range 400 {
			y := float64(n) / 200
			if n > 200 {
				y = 2 - y
			}
			m.See(now, grey(y))
			now += 10 * clock.Millisecond
		}
	}
	if got := m.Total(General); got != 6 {
		t.Errorf("%d changes in three slow swells, want 6", got)
	}
	if got := m.Worst(General); got.Flashes != 0.5 {
		t.Errorf("%v flashes in the worst second, want half a one: a change in 2 s", got)
	}
}

func TestSeeTouchesNoHeap(t *testing.T) {
	m := Strict(0.005)
	n := clock.Time(0)
	if got := testing.AllocsPerRun(1000, func() {
		n++
		l := grey(float64(n % 2))
		_ = m.Would(l)
		m.See(n*clock.Millisecond, l)
		_ = m.Rate(n * clock.Millisecond)
	}); got != 0 {
		t.Errorf("%v allocations", got)
	}
}

func BenchmarkSee(b *testing.B) {
	var m Meter
	n := clock.Time(0)
	for b.Loop() {
		n++
		m.See(n*22*clock.Millisecond, fixtures.RGB{float64(n%50) / 50, 0.3, 0.1})
	}
}
