package draft

import (
	"slices"

	"tactus/clock"
	"tactus/shows/language"
)

// longestFade is the longest time of a drafted fade.
const longestFade = 10 * clock.Second

// fits returns the wanted fade, or the longest shorter one that takes at most half the
// section and at most longestFade.
func (s *song) fits(i int, want string) string {
	for _, f := range fades()[slices.Index(fades(), want):] {
		takes := language.LengthOf(f).In(s.meter(i))
		if 2*takes <= s.song.Sections[i].Length && s.tempo(i).Span(takes) <= longestFade {
			return f
		}
	}
	return "snap"
}

// withinQuarter returns the wanted fade, or the longest shorter one that takes at most a
// quarter of the section: the middle of the section is then as bright as it is to be. A
// section that is too short for that has the shortest.
func (s *song) withinQuarter(i int, want string) string {
	for _, want = range fades()[slices.Index(fades(), want):] {
		if 4*language.LengthOf(want).In(s.meter(i)) <= s.song.Sections[i].Length {
			break
		}
	}
	return want
}

// fadeInto returns the fade into a section: bars where it is calm, beats into a lift.
func (w *writer) fadeInto(i int) string {
	s := w.song
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
	if i == 0 { // the light before may be that of another song's end
		want = s.withinQuarter(i, want)
	}
	fade := s.fits(i, w.mood(want))
	if want != fade && fade != "snap" && 4*language.LengthOf(fade).In(s.meter(i)) > s.song.Sections[i].Length {
		return s.fits(i, want) // longer than the energies ask for only where there is room
	}
	return fade
}

// strong is the lowest energy of strong sections, gentle and low the highest of gentle
// and low ones. Common practice, no source.
const (
	strong = 6
	gentle = 3
	low    = 2
)

// LargeLift is the least rise in energy between sections that has a breath before it.
const LargeLift = 3

// change returns the rise in energy from the section before.
func (s *song) change(i int) int {
	if i == 0 {
		return 0
	}
	return s.parts[i].energy - s.parts[i-1].energy
}
