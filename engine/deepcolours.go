package engine

import "tactus/fixtures"

// DeepColours says which colours are bright: each fixture shows them as bright as its
// emitters can, in so far as they are deep (fixtures.Mixer.DeepGain). The others are
// matched: as bright beside white as on every other fixture type.
type DeepColours struct {
	Roles [NumRoles]bool
	Fixed bool // colours that are not a role of the palette
}

func (d *DeepColours) has(c Colour) bool {
	if c.Fixed {
		return d.Fixed
	}
	return d.Roles[c.Role]
}

// prepareDeepColours makes what bright colours need, so that no frame has to.
func (p *Program) prepareDeepColours() {
	bright := p.HouseDeep != DeepColours{}
	for i := range p.Songs {
		bright = bright || p.Songs[i].Deep != DeepColours{}
	}
	if bright {
		p.Patch.PrepareBright()
	}
}

// roleColours are the colours of the present cue, for each head.
type roleColours struct {
	palette *Palette
	deep    DeepColours
	patch   *fixtures.Patch
}

func (e *Engine) roleColours() roleColours { return roleColours{e.palette, e.deep, e.prog.Patch} }

// of returns a colour as a head is to show it.
func (r *roleColours) of(c Colour, head int32) fixtures.RGB {
	colour := c.In(r.palette)
	if !r.deep.has(c) {
		return colour
	}
	if m := r.patch.Mixer(int(head)); m != nil {
		return colour.Scaled(m.DeepGain(colour))
	}
	return colour
}

// differ reports whether two heads may show a colour of the cue differently.
func (r *roleColours) differ(a, b int32) bool {
	return r.deep != DeepColours{} && r.patch.Mixer(int(a)) != r.patch.Mixer(int(b))
}
