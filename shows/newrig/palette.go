package newrig

import "tactus/fixtures"

// roleColour is a role of the palette with its colour.
type roleColour struct {
	role, colour string
}

// palette returns the house's colours. A rig that shows no hues has whites instead.
func (p *plot) palette() []roleColour {
	if p.tints == hued {
		return []roleColour{{"main", "#2f6fd0"}, {"second", "#1fa39a"}, {"accent", "#ffb040"}, {"warm", "#ffd9a8"}}
	}
	return []roleColour{{"main", "5600 K"}, {"second", "4300 K"}, {"accent", "3200 K"}, {"warm", "2900 K"}}
}

// luminance returns the light of a role's colour beside white, 0..1 (the weights of IEC
// 61966-2-1).
func (p *plot) luminance(role string) float64 {
	for _, c := range p.palette() {
		if c.role == role {
			rgb, err := fixtures.ParseColour(c.colour, fixtures.WhiteOf(5600, 0))
			if err != nil {
				panic(err) // the colours are ours
			}
			return float64(0.2126*rgb[0]) + float64(0.7152*rgb[1]) + float64(0.0722*rgb[2])
		}
	}
	panic("no role " + role) // the roles are ours
}

// role returns the role that a part of the stage shows where a look asks for one; "" for
// lamps of one white. Beside full colours, lamps of warm and cool white stay warm.
func (p *plot) role(of *part, wanted string) string {
	switch {
	case of.class == white:
		return ""
	case of.class == tunable && p.tints == hued:
		return "warm"
	}
	return wanted
}
