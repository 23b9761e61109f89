package flash

import (
	"tactus/fixtures"
)

// Head is what counts of a head: how its state becomes light, and how much light
// that is beside other heads.
type Head struct {
	Flux     float64 // at full white, in the units of its emitters; 0: it gives no light
	Coloured bool    // its colour can change
	Curve    fixtures.Curve
	Strobe   fixtures.Rates // of its shutter; SlowHz 0: it has no strobe
}

// Heads returns what counts of every head of a patch. A head with a dimmer alone
// counts as white. Fluxes are those of the profiles' emitters.
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
		if int(c.Head) != n {
			continue
		}
		switch {
		case c.Use == fixtures.Shutter:
			h.Strobe = c.Strobe
		case c.Use != fixtures.Level:
		case c.Param == fixtures.Intensity:
			dimmer = true
		case c.Param.Emits():
			h.Coloured = h.Coloured || m != nil || c.Param < fixtures.NumParams
			if m == nil && c.Param < fixtures.NumParams {
				h.Flux += emitterFlux(p, c.Param)
			}
		}
	}
	if m != nil {
		var full fixtures.Levels
		m.Mix(fixtures.RGB{1, 1, 1}, &full)
		for i, e := range m.Emitters() {
			h.Flux += float64(full[i] * e.Flux)
		}
	}
	if dimmer && !h.Coloured {
		h.Flux = emitterFlux(p, fixtures.White)
	}
	return h
}

func emitterFlux(p *fixtures.Profile, q fixtures.Param) float64 {
	for _, e := range p.Emitters {
		if e.Param == q {
			return e.Flux
		}
	}
	return fixtures.Typical(q).Flux
}

// Light returns the linear light of a state, of the head's own full; dark for a
// head that gives none.
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

// clampComponent is a component as a mixer takes it: at most 1; below 0 lies outside sRGB.
func clampComponent(v float64) float64 {
	if v != v {
		return 0
	}
	return max(-1, min(1, v))
}

// StrobeRate returns the flashes a second that the head makes by itself in a state, by
// its stated rates.
func (h *Head) StrobeRate(s *fixtures.State) float64 {
	asked := s[fixtures.Strobe] * fixtures.MaxStrobe
	if h.Strobe.SlowHz == 0 || h.Strobe.SlowHz > fixtures.MaxStrobe || !(asked >= h.Strobe.SlowHz/2) {
		return 0
	}
	return max(h.Strobe.SlowHz, min(asked, fixtures.MaxStrobe))
}

// Area is some heads whose light is seen as one.
type Area struct {
	Name   string
	Heads  []int32
	Shares []float64 // of the area's full, by flux; they sum to 1
}

// NewArea weighs heads by their flux. Heads that give no light are left out; an
// area without light has no heads.
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

// Light returns the area's light from those of all heads.
func (a *Area) Light(lights []fixtures.RGB) (sum fixtures.RGB) {
	for i, h := range a.Heads {
		l, x := &lights[h], a.Shares[i]
		sum[0] += float64(l[0] * x)
		sum[1] += float64(l[1] * x)
		sum[2] += float64(l[2] * x)
	}
	return sum
}
