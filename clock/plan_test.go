package clock

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A plannedCase is a master whose tempo changes after 960 ticks, and what the
// score says of it.
type plannedCase struct {
	name    string
	bpm, to float64 // the master's
	plan    float64 // the score's first tempo
	next    float64 // and its second
	at      int     // tick of the change, as the score has it
	jitter  delay
	most    float64 // ms from the first beat after the change on, p99; 0: no worse than without
}

// plannedTrace has ticks arrive late by a jitter, or in the audio buffers of so many
// samples at 48 kHz.
func plannedTrace(sent []Time, jitter delay, samples float64, seed uint64) *trace {
	if samples == 0 {
		return newTrace(sent).arrive(jitter, seed)
	}
	m := arrivalModel{law: func(*rand.Rand) []Time { return sent }, stages: through(buffer(48000, samples))}
	return m.trace(seed)
}

// offs returns the errors from some beats before the change on, ns, about their mean.
func (c *plannedCase) offs(told bool, samples float64, seed uint64) []float64 {
	tr := plannedTrace(leaps(c.bpm, c.to-c.bpm, 960, 1500)(nil), c.jitter, samples, seed)
	p := NewTransport(Config{})
	if told {
		p.Handle(Event{Kind: Planned, Tempo: BPM(c.plan), Beat: Beat(c.at) * Tick, Next: BPM(c.next)})
	}
	first := true
	s := tr.follow(480, func(e Event) {
		p.Handle(e)
		if told && first && p.lock.n >= int64(c.at) {
			first = false // as the engine does when the change is behind it
			p.Handle(Event{At: e.At, Kind: Planned, Tempo: BPM(c.next)})
		}
	}, func(at Time, _ int) (float64, float64, Sync) {
		q := p.At(at)
		return float64(q.Beat) / float64(Tick), 0, q.Sync
	})
	var after []float64
	all := centred(offs(s))
	for i := range s {
		if s[i].at >= tr.sent[960+24] {
			after = append(after, all[i])
		}
	}
	return after
}

func TestPlannedTempo(t *testing.T) {
	NumbersOnly(t)
	fivems := halfNormal(5 * Millisecond)
	for _, c := range []plannedCase{
		{"a step of 40 up, as planned", 100, 140, 100, 140, 960, fivems, 2},
		{"a step of 40 down, as planned", 140, 100, 140, 100, 960, fivems, 2},
		{"a step of 10, as planned", 120, 130, 120, 130, 960, fivems, 2},
		{"a step of 2, as planned", 120, 122, 120, 122, 960, fivems, 2},
		{"a step of 40, quiet, as planned", 100, 140, 100, 140, 960, halfNormal(Millisecond / 10), 2},
		{"planned a bar early", 100, 140, 100, 140, 960 - 96, fivems, 0},
		{"planned a bar late", 100, 140, 100, 140, 960 + 96, fivems, 0},
		{"a score 20 % off", 120, 130, 96, 104, 960, fivems, 0},
		{"another song", 120, 130, 75, 150, 700, fivems, 0},
		{"planned and not done", 120, 120, 120, 150, 960, fivems, 0},
	} {
		t.Run(c.name, func(t *testing.T) { c.check(t, 0, 20) })
		t.Run(c.name+", in buffers of 512", func(t *testing.T) { c.check(t, 512, 5) })
		t.Run(c.name+", in buffers of 1,024", func(t *testing.T) { c.check(t, 1024, 5) })
	}
}

// check holds a case to its bound; ticks come in buffers of so many samples, or with
// its jitter.
func (c *plannedCase) check(t *testing.T, samples float64, seeds uint64) {
	var told, untold []float64
	for seed := range seeds {
		told = append(told, c.offs(true, samples, seed)...)
		untold = append(untold, c.offs(false, samples, seed)...)
	}
	with, without := percentile(told, 0.99), percentile(untold, 0.99)
	t.Logf("p99 %.2f ms, without the score %.2f ms", with, without)
	if c.most > 0 {
		assert.LessOrEqual(t, with, c.most)
	} else {
		assert.LessOrEqual(t, with, 1.25*without+0.25)
	}
}

// A planned ramp is a step on each beat, as scores have it; the master's tempo
// rises or falls from tick to tick.
func TestPlannedRamp(t *testing.T) {
	NumbersOnly(t)
	for _, slope := range []float64{30, -30, 12} {
		for _, samples := range []float64{0, 512, 1024} {
			seeds := uint64(20)
			if samples > 0 {
				seeds = 5
			}
			var told, untold []float64
			for seed := range seeds {
				told = append(told, plannedRamp(slope, samples, seed, true)...)
				untold = append(untold, plannedRamp(slope, samples, seed, false)...)
			}
			with, without := percentile(told, 0.99), percentile(untold, 0.99)
			t.Logf("%+v BPM a minute, buffers of %v: p99 %.2f ms, without the score %.2f ms", slope, samples, with, without)
			most := 2.0
			if samples > 0 { // the score's steps are not the ramp itself, and a buffer hides the difference
				most = max(most, 0.7*without)
			}
			assert.LessOrEqual(t, with, most, "%v BPM a minute, buffers of %v", slope, samples)
		}
	}
}

// plannedRamp returns the errors from the first beat of a ramp on, ns.
func plannedRamp(slope, samples float64, seed uint64, told bool) (out []float64) {
	const from, beats = 960, 40
	sent := ramp(from+24*beats, from, 120, slope)
	step := func(beat int) Tempo { // the mean tempo of a beat of the ramp
		if beat < 0 {
			return BPM(120)
		}
		return Tempo(60e15 / float64(sent[from+24*min(beat+1, beats)-1]-sent[from+24*beat]) * 23 / 24)
	}
	tr := plannedTrace(sent, halfNormal(5*Millisecond), samples, seed)
	p := NewTransport(Config{})
	beat := -2
	s := tr.follow(480, func(e Event) {
		p.Handle(e)
		if now := max(int(p.lock.n)-from+24, 0)/24 - 1; told && now > beat && now+1 < beats {
			beat = now
			p.Handle(Event{At: e.At, Kind: Planned, Tempo: step(beat), Beat: Beat(from+24*(beat+1)) * Tick, Next: step(beat + 1)})
		}
	}, func(at Time, _ int) (float64, float64, Sync) {
		q := p.At(at)
		return float64(q.Beat) / float64(Tick), 0, q.Sync
	})
	all := centred(offs(s))
	for i := range s {
		if s[i].at >= sent[from+24] {
			out = append(out, all[i])
		}
	}
	return out
}
