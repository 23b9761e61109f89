package flash

import "tactus/fixtures"

// Head says how the state of a head becomes light, and how much light that is
// beside other heads.
type Head struct {
	Flux     float64 // luminous flux at full white, in the units of its emitters; 0: no light
	Coloured bool    // its colour can change
	Curve    fixtures.Curve
	Strobe   fixtures.Rates  // of its shutter; SlowHz 0: it has no strobe
	Mixer    *fixtures.Mixer // nil: its colour is not mixed
}

// Heads returns every head of a patch. A head with only a dimmer counts as white.
// Fluxes are those of the profiles' emitters.
func Heads(p *fixtures.Patch) []Head {
	heads := make([]Head, p.Heads())
	for _, f := range p.Placements() {
		for n := range f.Profile.Heads {
			heads[f.Head+n] = headOf(f.Profile, n, p.Mixer(f.Head+n))
		}
	}
	return heads
}

func headOf(p *fixtures.Profile, n int, m *fixtures.Mixer) Head {
	h := Head{Curve: p.Curve, Mixer: m}
	dimmer := false
	for _, c := range p.Channels {
		switch {
		case int(c.Head) != n:
		case c.Use == fixtures.Shutter:
			h.Strobe = c.Strobe
		case c.Use != fixtures.Level:
		case c.Param == fixtures.Intensity:
			dimmer = true
		case m == nil && c.Param.Emits() && c.Param < fixtures.NumParams:
			h.Coloured = true
			h.Flux += p.Emitter(c.Param).Flux
		}
	}
	if m != nil {
		h.Coloured = true
		var full fixtures.Levels
		m.Mix(fixtures.RGB{1, 1, 1}, &full)
		for i, e := range m.Emitters() {
			h.Flux += float64(full[i] * e.Flux)
		}
	}
	if dimmer && !h.Coloured {
		h.Flux = p.Emitter(fixtures.White).Flux
	}
	return h
}

// LimitColour scales a colour that is brighter than the head's emitters can show to the
// brightest that they can.
func (h *Head) LimitColour(s *fixtures.State) {
	if s[fixtures.Red] <= 1 && s[fixtures.Green] <= 1 && s[fixtures.Blue] <= 1 { // most are
		return
	}
	if s.Colour().IsBright() {
		c, _ := h.shownColour(s)
		s.SetColour(c)
	}
}

// shownColour returns the colour of a state as bright as the head can show it, and the
// largest size of a component.
func (h *Head) shownColour(s *fixtures.State) (c fixtures.RGB, most float64) {
	c, most = s.Colour(), 1
	if h.Mixer == nil || !c.IsBright() {
		return c, most
	}
	most = h.Mixer.Reach(c)
	if top := max(c[0], c[1], c[2]); top > most {
		c = c.Scaled(most / top)
	}
	return c, most
}

// Light returns the linear light of a state as a share of the head's full white: each
// component 0..1; above 1 in a deep colour that is brighter than its share of white; below
// 0 outside sRGB. It is dark for a head that gives no light.
func (h *Head) Light(s *fixtures.State) fixtures.RGB {
	if h.Flux == 0 {
		return fixtures.RGB{}
	}
	i := h.Curve.Light(s[fixtures.Intensity])
	if !h.Coloured {
		return fixtures.RGB{i, i, i}
	}
	if c := s.Colour(); isOrdinary(c[0]) && isOrdinary(c[1]) && isOrdinary(c[2]) { // most are
		return fixtures.RGB{float64(i * c[0]), float64(i * c[1]), float64(i * c[2])}
	}
	c, most := h.shownColour(s)
	return fixtures.RGB{float64(i * clampComponent(c[0], most)), float64(i * clampComponent(c[1], most)), float64(i * clampComponent(c[2], most))}
}

// isOrdinary reports whether a component needs no limit, however far the emitters reach.
func isOrdinary(v float64) bool { return v >= -1 && v <= 1 }

// clampComponent limits a component of a colour to -most..most; not a number is 0.
func clampComponent(v, most float64) float64 {
	if v != v {
		return 0
	}
	return max(-most, min(most, v))
}

// StrobeRate returns the flashes a second that the head's own strobe makes in a
// state, by its stated rates; 0 while the shutter is open.
func (h *Head) StrobeRate(s *fixtures.State) float64 {
	asked := s[fixtures.Strobe] * fixtures.MaxStrobe
	if h.Strobe.SlowHz == 0 || h.Strobe.SlowHz > fixtures.MaxStrobe || !(asked >= h.Strobe.SlowHz/2) {
		return 0
	}
	return max(h.Strobe.SlowHz, min(asked, fixtures.MaxStrobe))
}

// Area is a set of heads that are seen as one light.
type Area struct {
	Name   string
	Heads  []int32
	Shares []float64 // of each head in the area's full light, by flux; they sum to 1
}

// NewArea makes an area of the heads with some indexes. Heads that give no light
// are left out; an area without light has no heads.
func NewArea(name string, heads []Head, indexes []int32) Area {
	a := Area{Name: name}
	total := 0.0
	for _, h := range indexes {
		if h >= 0 && int(h) < len(heads) && heads[h].Flux > 0 {
			a.Heads = append(a.Heads, h)
			total += heads[h].Flux
		}
	}
	for _, h := range a.Heads {
		a.Shares = append(a.Shares, heads[h].Flux/total)
	}
	return a
}

// Light returns the area's light from the lights of all heads, as a share of its full.
func (a *Area) Light(lights []fixtures.RGB) (sum fixtures.RGB) {
	for i, h := range a.Heads {
		l, x := &lights[h], a.Shares[i]
		sum[0] += float64(l[0] * x)
		sum[1] += float64(l[1] * x)
		sum[2] += float64(l[2] * x)
	}
	return sum
}
