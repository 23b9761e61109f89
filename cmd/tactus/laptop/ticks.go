package laptop

import (
	"math"
	"slices"

	"tactus/clock"
	"tactus/clock/inwords"
)

// Ticks records the arrival of MIDI clock ticks. Only one goroutine may use it. It
// allocates memory only in NewTicks.
type Ticks struct {
	at []clock.Time
}

// maxTicks is the greatest number of ticks recorded: five minutes at 240 BPM.
const maxTicks = 5 * 240 * 24

// fitTicks is the number of ticks that a line is fitted to: four beats.
const fitTicks = 4 * 24

// NewTicks makes a recorder for maxTicks ticks.
func NewTicks() *Ticks { return &Ticks{at: make([]clock.Time, 0, maxTicks)} }

// Handle records a tick. It ignores other events, and ticks after the first
// maxTicks.
func (t *Ticks) Handle(e clock.Event) {
	if e.Kind == clock.Tick24 && len(t.at) < maxTicks {
		t.at = append(t.at, e.At)
	}
}

// Jitter describes how the MIDI clock arrived.
type Jitter struct {
	Ticks int     `json:"ticks"`
	Tempo float64 `json:"tempo_bpm"` // tempo of the last four beats; 0 with fewer
	// TempoError is the standard error of Tempo in percent, from the scatter of the
	// ticks around a line (least squares).
	TempoError float64 `json:"tempo_error_percent"`
	// Delay is the mean lateness of ticks relative to the earliest tick within four
	// beats. Noise is the standard deviation from the line. Both are in
	// milliseconds.
	Delay  float64 `json:"mean_delay_ms"`
	Noise  float64 `json:"noise_ms"`
	Latest float64 `json:"latest_ms"` // greatest lateness relative to the earliest tick

	// The tempo lock's values at the end; empty without a lock.
	BeatError float64 `json:"beat_error_ms"` // greatest expected error of the beat
	Feed      string  `json:"feed"`          // pattern of the ticks: none (not known), learning, even, uneven, steps or bursts
	Every     float64 `json:"every_ms"`      // step between ticks that come in steps
	Lost      uint32  `json:"lost"`          // missing ticks that the lock added
	Extra     uint32  `json:"extra"`         // surplus ticks that the lock removed
	Words     string  `json:"words"`         // all this in plain words
	Help      string  `json:"help"`          // how to make the clock steadier
	Level     string  `json:"level"`         // how bad it is: well (nothing to do), remark, grave
}

// Locked adds the values of the tempo lock, if it is locked to the clock.
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

// Jitter evaluates the ticks recorded so far. It leaves out stretches with a pause
// longer than 4 usual intervals.
func (t *Ticks) Jitter() Jitter {
	j := Jitter{Ticks: len(t.at)}
	if len(t.at) < fitTicks {
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
	for from := 0; from+fitTicks <= len(t.at); from += fitTicks / 2 {
		if slices.Max(gaps[from:from+fitTicks-1]) > 4*usual {
			continue
		}
		l := fitLine(t.at[from : from+fitTicks])
		windows++
		square += l.noise * l.noise
		j.Delay += l.delay
		j.Latest = max(j.Latest, l.latest)
		j.Tempo = 60e9 / (24 * l.slope)
		// The variance of a slope over 0…n−1 is σ²·12/(n(n²−1)).
		j.TempoError = 100 * l.noise / l.slope * math.Sqrt(12/float64(fitTicks*(fitTicks*fitTicks-1)))
	}
	if windows > 0 {
		j.Noise, j.Delay = math.Sqrt(square/windows)/1e6, j.Delay/windows/1e6
		j.Latest /= 1e6
	}
	return j
}

// line is a least-squares line through ticks, in nanoseconds.
type line struct{ slope, noise, delay, latest float64 }

func fitLine(at []clock.Time) line {
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
