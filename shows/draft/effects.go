package draft

import (
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
)

// calm returns how many cycles a second an effect may have on one head in a section
// of an energy: 0.1 at energy 0, 1.1 at 10; common practice, no source. WCAG 2.2 SC
// 2.3.1 names three flashes a second.
func calm(energy int) float64 { return 0.1 + 0.1*float64(energy) }

// turns returns how many cycles a second an effect has on one head.
func turns(e *engine.Effect, m engine.Meter, tempo clock.Tempo) float64 {
	period := tempo.Span(e.Period.In(m))
	if period <= 0 {
		return 0
	}
	return repeats(e) * float64(clock.Second) / float64(period)
}

// repeats returns how often an effect goes up and down on one head in a period.
func repeats(e *engine.Effect) float64 {
	each := float64(max(1, e.Pulses))
	switch e.Wave.Kind {
	case engine.Noise:
		each *= float64(e.Wave.Cells) * e.Wave.Duty
	case engine.Steps:
		each *= float64(len(e.Wave.Levels)) / 2
	}
	return each
}

// fitting returns the effects that are calm enough for a section at its tempo. Another
// is replaced by a calmer one that moves the same, from the ladder's rungs of the
// section's energy downwards, or left out; swaps lists that.
func (w *writer) fitting(i int, names []string) (fit, swaps []string) {
	return w.fittingUpTo(i, names, w.most(i))
}

// fittingUpTo is fitting for so many effects at most.
func (w *writer) fittingUpTo(i int, names []string, most int) (fit, swaps []string) {
	s := w.song
	if len(names) > most {
		names = names[:most]
	}
	for _, name := range names {
		if s.bears(i, name) {
			fit = append(fit, name)
			continue
		}
		if other := s.instead(i, name, union(names, fit)); other != "" {
			fit = append(fit, other)
			swaps = append(swaps, other+" for "+name)
			continue
		}
		swaps = append(swaps, "without "+name)
	}
	if w.character.Pace == "fast" && s.parts[i].energy >= strong && len(fit) < most {
		if more := w.oneMore(i, fit); more != "" {
			fit = append(fit, more)
		}
	}
	return fit, swaps
}

// oneMore returns the effect on levels that suits the character best, of those that are
// calm enough for a section and not among others; "" if there is none.
func (w *writer) oneMore(i int, others []string) string {
	for _, m := range w.quickest {
		if !slices.Contains(others, m.name) && w.bears(i, m.name) {
			return m.name
		}
	}
	return ""
}

// bears reports whether an effect is calm enough for a section.
func (s *song) bears(i int, name string) bool {
	e := s.effect(name)
	return e == nil || turns(e, s.meter(i), s.tempo(i)) <= calm(s.parts[i].energy)
}

// instead finds a calmer effect that is not among others.
func (s *song) instead(i int, name string, others []string) string {
	for _, r := range slices.Backward(s.show.Ladder.Rungs) {
		if r.Energy > s.parts[i].energy {
			continue
		}
		for _, other := range r.Effects {
			if !slices.Contains(others, other) && s.moves(other) == s.moves(name) && s.bears(i, other) {
				return other
			}
		}
	}
	return ""
}

// moves says what an effect moves.
func (s *song) moves(name string) string {
	switch e := s.effect(name); {
	case e == nil:
		return ""
	case e.MovesColour:
		return "colour"
	default:
		return e.Param.String()
	}
}

// swapped says why effects differ from the ladder's.
func (s *song) swapped(i int, swaps []string) string {
	if len(swaps) == 0 {
		return ""
	}
	return fmt.Sprintf("; %s, too busy at %s bpm", strings.Join(swaps, ", "), s.beatsAMinute(i))
}

// union puts lists together, each name once.
func union(a, b []string) []string {
	all := slices.Clone(a)
	for _, name := range b {
		if !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	return all
}

// sameSet reports whether two lists name the same effects, in any order.
func sameSet(a, b []string) bool {
	return len(a) == len(b) && len(union(a, b)) == len(a)
}
