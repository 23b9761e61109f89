package draft

import (
	"tactus/clock"
	"tactus/engine"
)

// fades are those that a draft uses, the longest first.
func fades() []fade {
	return []fade{
		{"2 bars", engine.Length{Num: 2, Bars: true}},
		{"1 bar", engine.Length{Num: 1, Bars: true}},
		{"2 beats", engine.Length{Num: 2}},
		{"1 beat", engine.Length{Num: 1}},
		{"1/2 beat", engine.Length{Num: 1, Den: 2}},
	}
}

type fade struct {
	text   string
	length engine.Length
}

// longestFade is how long a drafted fade takes at most.
const longestFade = 10 * clock.Second

// fits returns the wanted fade, or the longest below it that takes no more than
// half the section and no more than longestFade.
func (s *song) fits(i int, want string) string {
	known := false
	for _, f := range fades() {
		known = known || f.text == want
		takes := f.length.In(s.meter(i))
		if known && 2*takes <= s.song.Sections[i].Length && s.tempo(i).Span(takes) <= longestFade {
			return f.text
		}
	}
	return "snap"
}

// fadeInto is how a section comes up: in bars where it is calm, in beats into a
// lift.
func (s *song) fadeInto(i int) string {
	p := &s.parts[i]
	want := "2 bars"
	switch change := s.change(i); {
	case i == 0 && p.energy >= strong:
		want = "1 beat"
	case i == 0:
	case p.breakdown:
		want = "1 beat"
	case p.spoken:
		want = "2 beats"
	case change >= LargeLift && p.energy >= strong:
		want = "1/2 beat"
	case change > 0 && p.energy >= strong, change >= LargeLift:
		want = "1 beat"
	case p.energy >= strong, change > 0 && p.energy > gentle, change <= -LargeLift:
		want = "2 beats"
	case p.energy > low:
		want = "1 bar"
	}
	return s.fits(i, want)
}

// Energies from which, and up to which, a section counts as such. Common
// practice, no source.
const (
	strong = 6
	gentle = 3
	low    = 2
)

// LargeLift is the rise in energy from one section to the next that a pickup
// goes before.
const LargeLift = 3

// change is how much stronger a section is than the one before it.
func (s *song) change(i int) int {
	if i == 0 {
		return 0
	}
	return s.parts[i].energy - s.parts[i-1].energy
}
