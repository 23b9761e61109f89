package plan

import (
	"math"

	"tactus/engine"
	"tactus/fixtures"
)

// steps is the number of parts that the way between two colours is cut into.
const steps = 8

// coloursOf returns the colours of a palette and those that fades and effects pass
// between any two of them, at full.
func coloursOf(p *engine.Palette) (list []fixtures.OKLab) {
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

// addColour adds light to a section, and to its light off the palette if the
// palette does not explain the colour. Lightness does not count: dimmers change it.
func (m *lightLevels) addColour(s *sums, light fixtures.RGB, weight float64) {
	s.all += weight
	most := max(light[0], light[1], light[2])
	if most <= 0 {
		return
	}
	c := fixtures.RGB{light[0] / most, light[1] / most, light[2] / most}.OKLab()
	if math.Hypot(c.A, c.B) < m.whiteChroma {
		return
	}
	best := math.Inf(1)
	for _, w := range m.explained {
		// The same colour at the head's full: scaled to the same lightness.
		k := 1.0
		if w.L > 0 {
			k = c.L / w.L
		}
		a, b := float64(w.A*k)-c.A, float64(w.B*k)-c.B
		best = min(best, float64(a*a)+float64(b*b))
	}
	if best > float64(m.paletteDistance*m.paletteDistance) {
		s.offPalette += weight
	}
}

func length(c fixtures.OKLab) float64 {
	return math.Sqrt(float64(c.L*c.L) + float64(c.A*c.A) + float64(c.B*c.B))
}
