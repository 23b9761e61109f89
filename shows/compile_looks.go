package shows

import (
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
)

// look is a look of the looks file.
type look struct {
	parts   []engine.Part
	stage   []engine.Part // parts without kept heads
	effects []*effect
	fade    engine.Span
	sends   []int32
}

// compileLooks reads the looks, and makes a cue of each for showing it outside songs.
func (c *compiler) compileLooks(v *language.Value) {
	c.look = map[string]*look{}
	c.program.HousePalette = c.paletteOf(c.looks.Get("palette"), engine.Palette{})
	c.program.HouseDeep = deepColoursOf(c.looks.Get("deep colours"), engine.DeepColours{})
	for _, e := range v.All() {
		l := &look{
			parts: c.readLevels(e.Value.Get("set")), effects: c.effectsOf(e.Value.Get("effects")),
			fade: e.Value.Get("fade").Span(), sends: c.sends(e.Value.Get("send")),
		}
		l.stage = c.withoutKept(l.parts)
		c.look[e.Key.Text] = l
		c.lookNames = append(c.lookNames, e.Key.Text)
		cue := l.cue(e.Key.Text)
		cue.Source = e.Key.Where()
		c.program.Looks = append(c.program.Looks, cue)
	}
}

// cue returns a cue that shows the look as it is.
func (l *look) cue(name string) engine.Cue {
	cue := engine.Cue{Name: name, Parts: l.parts, Fade: l.fade, Sends: l.sends}
	for _, e := range l.effects {
		cue.Effects = append(cue.Effects, e.index)
	}
	return cue
}

// paletteOf reads a palette; roles that it lacks are those of under.
func (c *compiler) paletteOf(v *language.Value, under engine.Palette) engine.Palette {
	for i, role := range language.RoleNames() {
		if col := v.Get(role); col != nil {
			under[i] = c.ownColour(col)
		}
	}
	return under
}

// deepColoursOf reads which deep colours are bright: a word for all colours, or a word by
// role; roles that it lacks, and colours without a role, are those of under.
func deepColoursOf(v *language.Value, under engine.DeepColours) engine.DeepColours {
	if word := v.Word(); word != "" {
		under.Fixed = word == "bright"
		for i := range under.Roles {
			under.Roles[i] = under.Fixed
		}
	}
	for i, role := range language.RoleNames() {
		if own := v.Get(role); own != nil {
			under.Roles[i] = own.Word() == "bright"
		}
	}
	return under
}

// readLevels reads levels: "washes: {colour: main, intensity: 40 %}".
func (c *compiler) readLevels(v *language.Value) []engine.Part {
	var parts []engine.Part
	for _, e := range v.All() {
		p := engine.Part{Heads: c.heads.targets(e.Key)}
		if col := e.Value.Get("colour"); col != nil {
			p.SetsColour, p.Colour = true, c.colour(col)
			c.checkHeadsHave(col, p.Heads, "colour", fixtures.Red)
		}
		for _, param := range []fixtures.Param{fixtures.Intensity, fixtures.UV, fixtures.Strobe, fixtures.Pan, fixtures.Tilt, fixtures.Haze, fixtures.Fan} {
			if level := e.Value.Get(param.String()); level != nil {
				p.Params |= 1 << param
				p.Values[param] = level.Level(param)
				c.checkHeadsHave(level, p.Heads, param.String(), param)
			}
		}
		parts = append(parts, p)
	}
	return parts
}

// effectsOf reads "none", a name or a list of names.
func (c *compiler) effectsOf(v *language.Value) []*effect {
	effects := []*effect{}
	if v.Word() == "none" {
		return effects
	}
	for _, item := range v.Items() {
		if e := c.effects[item.Text]; e != nil {
			effects = append(effects, e)
			continue
		}
		if !c.looks.Broken("effects") {
			c.Unknown(item, "effect", "effects", c.effectNames)
		}
	}
	return effects
}

// colour reads a palette role, or a fixed colour.
func (c *compiler) colour(v *language.Value) engine.Colour {
	if v == nil {
		return engine.Colour{}
	}
	for i, r := range language.RoleNames() {
		if r == v.Word() {
			return engine.Colour{Role: engine.Role(i)}
		}
	}
	return engine.Colour{Fixed: true, RGB: c.ownColour(v)}
}

// ownColour reads a fixed colour.
func (c *compiler) ownColour(v *language.Value) fixtures.RGB {
	rgb, err := fixtures.ParseColour(v.Text, c.rigWhite())
	if err != nil {
		c.At(v, err.Error(), "", "")
	}
	return rgb
}

// checkWhite reports a white that is no light.
func (c *compiler) checkWhite() {
	if v := c.rig.Get("white"); v != nil {
		if _, err := fixtures.ParseXY(v.Text); err != nil {
			c.At(v, err.Error(), "", "")
		}
	}
}

// rigWhite returns the rig's white: 5600 K by default.
func (c *compiler) rigWhite() fixtures.XY {
	if at, err := fixtures.ParseXY(c.rig.Get("white").Word()); err == nil {
		return at
	}
	return fixtures.WhiteOf(5600, 0)
}
