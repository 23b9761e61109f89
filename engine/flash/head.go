package flash

import "tactus/fixtures"

// Head says how the state of a head becomes light, and how much light that is
// beside other heads.
type Head struct {
	Flux     float64 // luminous flux at full white, in the units of its emitters; 0: no light
	Coloured bool    // its colour can change
	Curve    fixtures.Curve
	Strobe   fixtures.Rates // of its shutter; SlowHz 0: it has no strobe
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
	h := Head{Curve: p.Curve}
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

// Light returns the linear light of a state as a share of the head's full, 0..1;
// below 0 a component lies outside sRGB. It is dark for a head that gives no light.
func (h *Head) Light(s *fixtures.State) fixtures.RGB {
	if h.Flux == 0 {
		return fixtures.RGB{}
	}
	i := h.Curve.Light(s[fixtures.Intensity])
	if !h.Coloured {
		return fixtures.RGB{i, i, i}
	}
	return fixtures.RGB{
		float64(i * clampComponent(s[fixtures.Red])), float64(i * clampComponent(s[fixtures.Green])), float64(i * clampComponent(s[fixtures.Blue])),
	}
}

// clampComponent limits a component of a colour to -1..1; not a number is 0.
func clampComponent(v float64) float64 {
	if v != v {
		return 0
	}
	return max(-1, min(1, v))
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
