package shows

import (
	"tactus/engine"
	"tactus/fixtures"
)

// look is a look of the looks file.
type look struct {
	parts   []engine.Part
	effects []*effect
	fade    engine.Span
	sends   []int32
}

// compileLooks reads the looks and makes each a cue, for when it is shown
// outside a song.
func (c *compiler) compileLooks(v *value) {
	c.look = map[string]*look{}
	c.program.House = c.paletteOf(c.looks.get("palette"), engine.Palette{})
	for _, e := range v.all() {
		l := &look{
			parts: c.parts(e.value.get("set")), effects: c.effectsOf(e.value.get("effects")),
			fade: e.value.get("fade").span(), sends: c.sends(e.value.get("send")),
		}
		c.look[e.key.text] = l
		c.lookNames = append(c.lookNames, e.key.text)
		cue := l.cue(e.key.text)
		cue.Written = e.key.where()
		c.program.Looks = append(c.program.Looks, cue)
	}
}

// cue is the look by itself.
func (l *look) cue(name string) engine.Cue {
	cue := engine.Cue{Name: name, Parts: l.parts, Fade: l.fade, Sends: l.sends}
	for _, e := range l.effects {
		cue.Effects = append(cue.Effects, e.index)
	}
	return cue
}

// paletteOf reads a palette over the one that fills its gaps.
func (c *compiler) paletteOf(v *value, under engine.Palette) engine.Palette {
	for i, role := range roleNames() {
		if col := v.get(role); col != nil {
			under[i] = c.ownColour(col)
		}
	}
	return under
}

// parts reads levels: "washes: {colour: main, intensity: 40 %}".
func (c *compiler) parts(v *value) []engine.Part {
	var parts []engine.Part
	for _, e := range v.all() {
		p := engine.Part{Heads: c.heads.targets(e.key)}
		if col := e.value.get("colour"); col != nil {
			p.Tinted, p.Colour = true, c.colour(col)
			c.able(col, p.Heads, "colour", fixtures.Red)
		}
		for _, param := range []fixtures.Param{fixtures.Intensity, fixtures.UV, fixtures.Strobe, fixtures.Pan, fixtures.Tilt, fixtures.Haze, fixtures.Fan} {
			if level := e.value.get(param.String()); level != nil {
				p.Params |= 1 << param
				p.Values[param] = level.of(param)
				c.able(level, p.Heads, param.String(), param)
			}
		}
		parts = append(parts, p)
	}
	return parts
}

// effectsOf reads "none", a name or a list of names.
func (c *compiler) effectsOf(v *value) []*effect {
	effects := []*effect{}
	if v.word() == "none" {
		return effects
	}
	for _, item := range v.items() {
		if e := c.effects[item.text]; e != nil {
			effects = append(effects, e)
			continue
		}
		if !c.looks.broken("effects") {
			c.unknown(item, "effect", "effects", c.effectNames)
		}
	}
	return effects
}

// colour reads a role or a colour of its own.
func (c *compiler) colour(v *value) engine.Colour {
	if v == nil {
		return engine.Colour{}
	}
	for i, r := range roleNames() {
		if r == v.word() {
			return engine.Colour{Role: engine.Role(i)}
		}
	}
	return engine.Colour{Fixed: true, RGB: c.ownColour(v)}
}

// ownColour reads a colour that is no role.
func (c *compiler) ownColour(v *value) fixtures.RGB {
	rgb, err := fixtures.ParseColour(v.text, c.white())
	if err != nil {
		c.at(v, err.Error(), "", "")
	}
	return rgb
}

// checkWhite reports a white that is no light.
func (c *compiler) checkWhite() {
	if v := c.rig.get("white"); v != nil {
		if _, err := fixtures.ParseXY(v.text); err != nil {
			c.at(v, err.Error(), "", "")
		}
	}
}

// white is the rig's: 5600 K unless said.
func (c *compiler) white() fixtures.XY {
	if v := c.rig.get("white"); v != nil {
		if at, err := fixtures.ParseXY(v.text); err == nil {
			return at
		}
	}
	return fixtures.WhiteOf(5600, 0)
}
