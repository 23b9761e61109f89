package clock

import (
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

// offs returns the errors from some beats before the change on, ns, about their mean.
func (c *plannedCase) offs(told bool, seed uint64) []float64 {
	tr := newTrace(leaps(c.bpm, c.to-c.bpm, 960, 1500)(nil)).arrive(c.jitter, seed)
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
	numbersOnly(t)
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
		t.Run(c.name, func(t *testing.T) {
			var told, untold []float64
			for seed := range uint64(20) {
				told = append(told, c.offs(true, seed)...)
				untold = append(untold, c.offs(false, seed)...)
			}
			with, without := percentile(told, 0.99), percentile(untold, 0.99)
			t.Logf("p99 %.2f ms, without the score %.2f ms", with, without)
			if c.most > 0 {
				assert.LessOrEqual(t, with, c.most)
			} else {
				assert.LessOrEqual(t, with, 1.25*without+0.25)
			}
		})
	}
}

// A planned ramp is a step on each beat, as scores have it; the master's tempo
// rises or falls from tick to tick.
func TestPlannedRamp(t *testing.T) {
	numbersOnly(t)
	const from, beats = 960, 40
	for _, slope := range []float64{30, -30, 12} {
		var told, untold []float64
		for seed := range uint64(20) {
			sent := ramp(from+24*beats, from, 120, slope)
			step := func(beat int) Tempo { // the mean tempo of a beat of the ramp
				if beat < 0 {
					return BPM(120)
				}
				return Tempo(60e15 / float64(sent[from+24*min(beat+1, beats)-1]-sent[from+24*beat]) * 23 / 24)
			}
			for _, plan := range []bool{true, false} {
				tr := newTrace(sent).arrive(halfNormal(5*Millisecond), seed)
				p := NewTransport(Config{})
				beat := -2
				s := tr.follow(480, func(e Event) {
					p.Handle(e)
					if now := max(int(p.lock.n)-from+24, 0)/24 - 1; plan && now > beat && now+1 < beats {
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
						if plan {
							told = append(told, all[i])
						} else {
							untold = append(untold, all[i])
						}
					}
				}
			}
		}
		with, without := percentile(told, 0.99), percentile(untold, 0.99)
		t.Logf("%+v BPM a minute: p99 %.2f ms, without the score %.2f ms", slope, with, without)
		assert.LessOrEqual(t, with, 2.0, "%v BPM a minute", slope)
	}
}
