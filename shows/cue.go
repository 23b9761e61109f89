package shows

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// MostDark is the intensity, 0..1 of a head's own full, up to which a head counts
// as dark: people cannot find their way by it (common practice, no source).
const MostDark = 0.05

// StageHeads lists the heads that songs light: those with light of their own that
// are neither kept nor house lights.
func StageHeads(p *engine.Program) (stage []int32) {
	for h, light := range flash.Heads(p.Patch) {
		if head := &p.Heads[h]; light.Flux > 0 && !head.Keep && !head.House {
			stage = append(stage, int32(h))
		}
	}
	return stage
}

// IsDark reports whether a cue leaves every head of the stage at [MostDark] or
// less, its effects at their highest. A cue that only sends messages is not dark.
func IsDark(p *engine.Program, c *engine.Cue) bool {
	level := make([]float64, len(p.Heads))
	HighestLevels(p, c, level)
	return !c.SendsOnly && !slices.ContainsFunc(StageHeads(p), func(h int32) bool { return level[h] > MostDark })
}

// HighestLevels sets the intensity of each head, 0..1, to the highest that a cue
// with its effects asks for. Heads that the cue does not set start from what level
// holds.
func HighestLevels(p *engine.Program, c *engine.Cue, level []float64) {
	for i := range c.Parts {
		if part := &c.Parts[i]; part.Sets(fixtures.Intensity) {
			for _, h := range part.Heads {
				level[h] = part.Values[fixtures.Intensity]
			}
		}
	}
	for _, i := range c.Effects {
		raiseToPeak(&p.Effects[i], level)
	}
}

// raiseToPeak sets heads to the highest level that an effect can bring them to: its
// blend with the wave at 1. Scaling only lowers a level.
func raiseToPeak(e *engine.Effect, level []float64) {
	if e.MovesColour || e.Param != fixtures.Intensity {
		return
	}
	for _, h := range e.Heads {
		switch v := level[h]; e.Blend {
		case engine.Add:
			level[h] = min(1, v+e.Depth)
		case engine.Replace:
			level[h] = max(v, v+float64(e.Depth*(1-v)))
		case engine.Highest:
			level[h] = max(v, e.Depth)
		case engine.Swing:
			level[h] = min(1, v+e.Depth/2)
		}
	}
}

// FadeTime returns how long a cue's fade takes as planned.
func FadeTime(s *engine.Song, c *engine.Cue) clock.Time {
	if c.Fade.Time > 0 {
		return c.Fade.Time
	}
	return s.TimeAt(s.PlaceAfter(c.At, c.Fade.Length)) - s.TimeAt(c.At)
}

// FadeEnd returns where in the song a cue's fade is over as planned.
func FadeEnd(s *engine.Song, c *engine.Cue) clock.Beat {
	if c.Fade.Time > 0 {
		return s.BeatAt(s.TimeAt(c.At) + c.Fade.Time)
	}
	return s.PlaceAfter(c.At, c.Fade.Length)
}

// LongFade reports whether a cue's fade goes on for more than a frame after its
// section is over, and where that is. The section of a pickup is the one that it
// leads to. Cues that only send messages have no fade.
func LongFade(s *engine.Song, c *engine.Cue) (end clock.Beat, long bool) {
	at := slices.IndexFunc(s.Sections, func(x engine.Section) bool { return c.At < x.Start+x.Length })
	if c.Pickup > 0 {
		at = int(c.Pickup) - 1
	}
	if c.SendsOnly || c.At < 0 || at < 0 {
		return 0, false
	}
	end = s.Sections[at].Start + s.Sections[at].Length
	return end, FadeTime(s, c) > s.TimeAt(end)-s.TimeAt(c.At)+clock.Second/dmx.MaxRate
}

// Length returns how long songs of the program take as planned, one after another
// without the rests between them.
func (s *Show) Length(songs []int32) (length clock.Time) {
	for _, i := range songs {
		song := &s.Program.Songs[i]
		length += song.TimeAt(song.Length())
	}
	return length
}
