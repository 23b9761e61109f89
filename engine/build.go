package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// Build lets the light of a cue grow, or ebb, from From to Until: the levels of heads,
// one after another, the depth of effects, and how fast they run. It is a function of the
// place in the song.
type Build struct {
	From, Until clock.Beat // in the song; From < Until
	Middle      clock.Beat // From..Until, where DoubleTime begins or, if it ebbs, ends
	Ebbs        bool
	Low         float64 // share of its level, 0..1, that a head has at the weak end
	Depth       float64 // share of their depth, 0..1, that effects have at the weak end
	DoubleTime  bool    // effects run twice as fast in the stronger half
	// Joins is where a head begins to grow, by head: a share of the build, 0..1-Span, or
	// below 0 for heads that are not part of it. Each takes Span of the build, above 0.
	Joins []float64
	Span  float64
}

// strength returns how far a build has grown at a place in the song, 0..1. In a section
// that loops it stays at its end from the second pass on: ended.
func (b *Build) strength(place clock.Beat, ended bool) float64 {
	x := 1.0
	if !ended && place < b.Until {
		x = float64(max(0, place-b.From)) / float64(b.Until-b.From)
	}
	if b.Ebbs {
		return 1 - x
	}
	return x
}

// level returns the share of its level that a head has at a strength.
func (b *Build) level(head int, strength float64) float64 {
	join := b.Joins[head]
	if join < 0 {
		return 1
	}
	grown := max(0, min(1, (strength-join)/b.Span))
	return b.Low + float64((1-b.Low)*grown)
}

// depth returns the share of their depth that effects have at a strength.
func (b *Build) depth(strength float64) float64 { return b.Depth + float64((1-b.Depth)*strength) }

// effectPlace returns the place in the song that effects are at when the music is at
// place: the same, but for double time.
func (b *Build) effectPlace(place clock.Beat, ended bool) clock.Beat {
	switch {
	case !b.DoubleTime || b.Ebbs && ended:
		return place
	case ended:
		return place + max(0, place-b.From)
	case b.Ebbs:
		return place + max(0, min(place, b.Middle)-b.From)
	}
	return place + max(0, place-b.Middle)
}

// build returns the build of the present cue, or nil, and how far it has grown. ended
// says that it stays at its end, because its section loops.
func (e *Engine) build(pos clock.Position) (b *Build, strength float64, ended bool) {
	if e.cue == nil || e.cue.Build == nil || e.lostEffects != nil {
		return nil, 0, false
	}
	t := &e.play
	place := pos.Beat - e.effectsOrigin
	if !e.prog.EffectsStop {
		place += t.pulseSkew
	}
	if e.shown.song == t.song && t.song != None && t.section != None {
		ended = e.prog.Songs[t.song].Sections[t.section].Loop && t.pass() > 1
	}
	b = e.cue.Build
	return b, b.strength(max(place, e.effectsEarliest), ended), ended
}

// renderBuild scales the levels of heads by the present cue's build.
func (e *Engine) renderBuild(pos clock.Position) {
	b, strength, _ := e.build(pos)
	if b == nil {
		return
	}
	for h := range e.showLight {
		e.showLight[h][fixtures.Intensity] = float64(e.showLight[h][fixtures.Intensity] * b.level(h, strength))
	}
}
