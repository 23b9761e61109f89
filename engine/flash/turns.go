package flash

import "tactus/fixtures"

// Sample is a light as Turns judge it, made by SampleOf. It is worked out once for all that
// look at the same light.
type Sample struct {
	light     fixtures.RGB
	luminance float64
	hue       hue
}

// SampleOf returns the sample of a light: linear, with the primaries of sRGB, 1, 1, 1 for
// full white.
func SampleOf(l fixtures.RGB) Sample {
	return Sample{l, Luminance(l), hueOf(l)}
}

// Set makes s the sample of a light. It costs next to nothing if it is that already.
func (s *Sample) Set(l fixtures.RGB) {
	if l != s.light {
		s.light, s.luminance, s.hue = l, Luminance(l), hueOf(l)
	}
}

// Light returns the light.
func (s *Sample) Light() fixtures.RGB { return s.light }

// Luminance returns the relative luminance of the light; see Luminance.
func (s *Sample) Luminance() float64 { return s.luminance }

// Turns finds the changes of one light between its turning points. With Times, which
// remembers when they were, it makes a Counter. They are apart because most lights change
// seldom: of many lights, each frame then reads only their Turns, which lie close together.
// The zero Turns finds changes by the limits of this package.
type Turns struct {
	last      fixtures.RGB
	margin    float64
	luminance luminanceTurns
	red       redTurns
	seen      bool
}

// StrictTurns returns Turns for light that is known only to a margin, 0..0.02 of full. Their
// limits are lower: steps of luminance by twice the margin, steps and ratios of red by
// four times the margin. A change smaller than the margin does not end a change that is
// going on. So they find at least as many changes as Turns of the true light.
func StrictTurns(margin float64) Turns { return Turns{margin: margin} }

// Observed is what a light did in one frame.
type Observed struct {
	complete Change         // changes that it completed
	ongoing  [NumKinds]bool // without one: an uncertain change is still going on
}

// Observe takes the next light.
func (m *Turns) Observe(s *Sample) (o Observed) {
	if m.seen && s.light == m.last {
		return o
	}
	m.seen, m.last = true, s.light
	o.complete[General], o.ongoing[General] = m.luminance.observe(s.luminance, m.margin)
	o.complete[Red], o.ongoing[Red] = m.red.observe(&s.hue, m.margin)
	return o
}

// Predict returns the changes that Observe would complete with this light.
func (m *Turns) Predict(s *Sample) Change {
	if m.seen && s.light == m.last {
		return Change{}
	}
	return Change{m.luminance.predict(s.luminance, m.margin), m.red.predict(&s.hue, m.margin)}
}

// LastLight returns the light of the last Observe.
func (m *Turns) LastLight() fixtures.RGB { return m.last }

// MaxLuminance returns the highest luminance since the last change.
func (m *Turns) MaxLuminance() float64 { return m.luminance.high }
