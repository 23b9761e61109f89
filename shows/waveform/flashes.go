package waveform

import (
	"context"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Flashes is what an effect alone asks for, over one look and at the fastest tempo at which
// it plays.
type Flashes struct {
	Held   bool       // the flash limiter holds it back
	Wanted float64    // flashes a second that it asks for, where it is held back
	Kind   flash.Kind // of them
	Area   string     // where they are: a head, a group or "the whole rig"
	Limit  int        // flashes a second that are let through
	Song   int32      // that has the fastest tempo; engine.None: the show has no song
	Tempo  clock.Tempo
}

// What is measured: after the first change of light, over one period but not for ever.
const (
	settles     = 1100 * clock.Millisecond
	leastPlayed = 3 * clock.Second
	mostPlayed  = 20 * clock.Second
)

// FlashesOf plays an effect alone, with the engine and its flash limiter, and returns what
// the limiter does. The heads of the effect are lit in the song's main colour: fully, or as
// little as shows the effect best. The error is the context's.
func FlashesOf(ctx context.Context, p *engine.Program, effect int32) (Flashes, error) {
	e := &p.Effects[effect]
	out := Flashes{Song: fastest(p, effect), Limit: flash.PerSecond, Tempo: clock.BPM(120)}
	meter := engine.Meter{Upper: 4, Lower: 4}
	if out.Song != engine.None {
		out.Tempo, meter = fastestTempo(&p.Songs[out.Song]), p.Songs[out.Song].Meter
	}
	alone := engine.New(p.Alone(lookUnder(e, effect), out.Song))
	// Outside songs a bar is one of 4/4: the tempo makes up for it.
	long := e.Period.In(meter)
	quarters := e.Period.In(engine.Meter{Upper: 4, Lower: 4}).Quarters() / seconds(out.Tempo.Span(long)) // a second
	played := min(mostPlayed, max(leastPlayed, settles+out.Tempo.Span(long)))
	for n := range int64(played) * dmx.MaxRate / int64(clock.Second) {
		if n%64 == 0 && ctx.Err() != nil {
			return out, ctx.Err()
		}
		now := clock.Time(n) * clock.Second / dmx.MaxRate
		beat := clock.Beat(quarters * seconds(now) * float64(clock.Quarter))
		pos := clock.Position{At: now, Tempo: clock.BPM(60 * quarters), Beat: beat, Pulse: beat, Playing: true}
		alone.Frame(pos)
		s := alone.Status(pos).Limiter
		if s.Acting && now >= settles && s.Last() == now && (!out.Held || s.Wanted > out.Wanted) {
			out.Held, out.Wanted, out.Kind, out.Area, out.Limit = true, s.Wanted, s.Kind, s.Area, s.Limit
		}
	}
	return out, nil
}

// lookUnder is a look with an effect's heads and the effect over it.
func lookUnder(e *engine.Effect, effect int32) engine.Cue {
	level := 1.0
	if !e.MovesColour && e.Param == fixtures.Intensity {
		level = over(e)
	}
	part := engine.Part{Heads: e.Heads, Params: 1 << fixtures.Intensity, SetsColour: true}
	part.Values[fixtures.Intensity] = level
	return engine.Cue{Name: e.Name, Parts: []engine.Part{part}, Effects: []int32{effect}}
}

// fastest returns the song with the fastest tempo of those in which an effect plays, or of
// all if it plays in none.
func fastest(p *engine.Program, effect int32) int32 {
	best, plays := engine.None, false
	for i := range p.Songs {
		s := &p.Songs[i]
		here := playsIn(s, effect)
		if plays && !here {
			continue
		}
		if here && !plays || best == engine.None || fastestTempo(s) > fastestTempo(&p.Songs[best]) {
			best = int32(i)
		}
		plays = plays || here
	}
	return best
}

func playsIn(s *engine.Song, effect int32) bool {
	has := func(cues []engine.Cue) bool {
		for i := range cues {
			for _, e := range cues[i].Effects {
				if e == effect {
					return true
				}
			}
		}
		return false
	}
	if has(s.Cues) {
		return true
	}
	for i := range s.Variants {
		if has(s.Variants[i].Cues) {
			return true
		}
	}
	return false
}

func seconds(t clock.Time) float64 { return float64(t) / float64(clock.Second) }

func fastestTempo(s *engine.Song) clock.Tempo {
	t := s.Tempo
	for i := range s.Tempos {
		t = max(t, s.Tempos[i].Tempo)
	}
	return t
}
