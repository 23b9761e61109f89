package plan

import (
	"math"

	"tactus/engine"
	"tactus/fixtures"
)

const (
	// steps is into how many parts the way between two colours of the palette is cut.
	steps = 8
	// paleBelow is the Oklab chroma below which light is white to most eyes.
	paleBelow = 0.04
	// strangeFrom is how far in Oklab's a, b a colour may be from the palette's; about
	// ten times what is just seen side by side.
	strangeFrom = 0.08
)

// waysOf returns the colours of a palette, and those on the way between any two,
// at full: fades and effects go along these.
func waysOf(p *engine.Palette) (list []fixtures.OKLab) {
	for i, from := range p {
		for _, to := range p[:i+1] {
			arc := fixtures.NewArc(from, to)
			for s := range steps + 1 {
				c := arc.ColourAt(float64(s) / steps)
				list = append(list, c.OKLab())
			}
		}
	}
	return list
}

// away adds light, and light of a colour that the palette does not explain. Only hue and
// saturation count: lightness is the dimmer's.
func (m *meter) away(s *sums, light fixtures.RGB, weight float64) {
	s.all += weight
	most := max(light[0], light[1], light[2])
	if most <= 0 {
		return
	}
	c := fixtures.RGB{light[0] / most, light[1] / most, light[2] / most}.OKLab()
	if math.Hypot(c.A, c.B) < paleBelow {
		return
	}
	best := math.Inf(1)
	for _, w := range m.ways {
		// The same colour at the head's full: scaled to the same lightness.
		k := 1.0
		if w.L > 0 {
			k = c.L / w.L
		}
		a, b := float64(w.A*k)-c.A, float64(w.B*k)-c.B
		best = min(best, float64(a*a)+float64(b*b))
	}
	if best > strangeFrom*strangeFrom {
		s.strange += weight
	}
}

func length(c fixtures.OKLab) float64 {
	return math.Sqrt(float64(c.L*c.L) + float64(c.A*c.A) + float64(c.B*c.B))
}
