package laptop

import (
	"math"
	"slices"

	"tactus/clock"
	"tactus/clock/inwords"
)

// Ticks keeps the arrival of MIDI clock ticks. It belongs to one goroutine and
// allocates nothing once made.
type Ticks struct {
	at []clock.Time
}

// most is how many ticks are kept: five minutes at 240 BPM.
const most = 5 * 240 * 24

// window is how many ticks a line is fitted to: four beats.
const window = 4 * 24

// NewTicks makes room for five minutes of ticks.
func NewTicks() *Ticks { return &Ticks{at: make([]clock.Time, 0, most)} }

// Handle notes a tick; other events, and ticks beyond those there is room for,
// are ignored.
func (t *Ticks) Handle(e clock.Event) {
	if e.Kind == clock.Tick24 && len(t.at) < most {
		t.at = append(t.at, e.At)
	}
}

// Jitter says how the MIDI clock arrived.
type Jitter struct {
	Ticks int `json:"ticks"`
	// Tempo is the last four beats' tempo in BPM; 0 with fewer than four.
	Tempo float64 `json:"tempo_bpm"`
	// TempoError is the standard error of that in percent, from the scatter of
	// the ticks around a line (least squares).
	TempoError float64 `json:"tempo_error_percent"`
	// Delay is how much later the mean tick came than the quickest within four
	// beats, and Noise the standard deviation around the line, in milliseconds.
	Delay float64 `json:"mean_delay_ms"`
	Noise float64 `json:"noise_ms"`
	// Latest is the most that a tick came after the quickest.
	Latest float64 `json:"latest_ms"`
	// BeatError is what the tempo lock made of it: how far the beat may be off,
	// at the end, in milliseconds; 0 if it was not locked then.
	BeatError float64 `json:"beat_error_ms"`
	// The rest is as the tempo lock saw it at the end, where it was locked then.
	//
	// Feed is the pattern by which ticks came: none (not known), learning, even,
	// uneven, steps or bursts; Every how far apart their moments lay, in steps.
	Feed  string  `json:"feed"`
	Every float64 `json:"every_ms"`
	// Lost and Extra count ticks that were put in and taken out.
	Lost  uint32 `json:"lost"`
	Extra uint32 `json:"extra"`
	// Words says it all in plain words, Help what would be steadier, and Level what
	// there is to do: well (nothing), remark, grave.
	Words string `json:"words"`
	Help  string `json:"help"`
	Level string `json:"level"`
}

// Locked adds what the tempo lock saw, if it is locked to the clock.
func (j *Jitter) Locked(a *clock.Arrivals, p *clock.Position) {
	if p.Source != clock.MIDI || p.Sync != clock.Locked {
		return
	}
	const ms = float64(clock.Millisecond)
	w := inwords.Of(a, p)
	j.BeatError, j.Feed, j.Every = float64(p.Err)/ms, a.Feed.String(), float64(a.Every)/ms
	j.Lost, j.Extra = a.Lost, a.Extra
	j.Words, j.Help, j.Level = w.Long, w.Help, w.Level.String()
}

// Jitter measures what has come so far. Stretches across a pause, which is more
// than 4 usual intervals, are left out.
func (t *Ticks) Jitter() Jitter {
	j := Jitter{Ticks: len(t.at)}
	if len(t.at) < window {
		return j
	}
	gaps := make([]clock.Time, len(t.at)-1)
	for i := range gaps {
		gaps[i] = t.at[i+1] - t.at[i]
	}
	sorted := slices.Clone(gaps)
	slices.Sort(sorted)
	usual := max(sorted[len(sorted)/2], 1)
	windows, square := 0.0, 0.0
	for from := 0; from+window <= len(t.at); from += window / 2 {
		if slices.Max(gaps[from:from+window-1]) > 4*usual {
			continue
		}
		l := fit(t.at[from : from+window])
		windows++
		square += l.noise * l.noise
		j.Delay += l.delay
		j.Latest = max(j.Latest, l.latest)
		j.Tempo = 60e9 / (24 * l.slope)
		// The variance of a slope over 0…n−1 is σ²·12/(n(n²−1)).
		j.TempoError = 100 * l.noise / l.slope * math.Sqrt(12/float64(window*(window*window-1)))
	}
	if windows > 0 {
		j.Noise, j.Delay = math.Sqrt(square/windows)/1e6, j.Delay/windows/1e6
		j.Latest /= 1e6
	}
	return j
}

// line is a least-squares line under ticks, in nanoseconds.
type line struct{ slope, noise, delay, latest float64 }

func fit(at []clock.Time) line {
	n := float64(len(at))
	middle, mean := (n-1)/2, 0.0
	for _, a := range at {
		mean += float64(a-at[0]) / n
	}
	over, under := 0.0, 0.0
	for i, a := range at {
		x := float64(i) - middle
		over += float64(x * (float64(a-at[0]) - mean))
		under += float64(x * x)
	}
	l := line{slope: over / under}
	least, most, square := math.Inf(1), math.Inf(-1), 0.0
	for i, a := range at {
		r := float64(a-at[0]) - mean - float64(l.slope*(float64(i)-middle))
		least, most = min(least, r), max(most, r)
		square += float64(r * r)
	}
	l.noise, l.delay, l.latest = math.Sqrt(square/(n-2)), -least, most-least
	return l
}
