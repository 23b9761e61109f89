package shows

import (
	"tactus/shows/language"
)

// Power is what the rig file says of mains. Nothing in it is measured.
type Power struct {
	Volts    float64   // of the mains, or 0 when the rig does not say
	Circuits []Circuit // in file order
	Draws    []Draw    // a fixture each, as Patch.Placements() has them
}

// Circuit is what one breaker protects.
type Circuit struct {
	Name string
	Amps float64 // of the breaker
}

// Draw is the power of one fixture at full, in watts; 0 if it is not given.
type Draw struct {
	Watts   float64
	Circuit int // index into Circuits, or -1
}

func (c *compiler) compilePower() {
	p := &c.power
	p.Volts = amount(c.rig.Get("mains").Get("voltage"))
	for _, e := range c.rig.Get("circuits").All() {
		p.Circuits = append(p.Circuits, Circuit{e.Key.Text, amount(e.Value.Get("breaker"))})
	}
	if v := c.rig.Get("circuits"); v != nil && c.rig.Get("mains") == nil && !c.rig.Broken("circuits") {
		c.At(v, "circuits without a mains voltage", `add "mains: {voltage: 230 V}", or what your mains has`, "")
	}
}

// drawOf returns what one fixture draws, by its own figure or else its profile's.
func (r *patchBuilder) drawOf(v *language.Value) Draw {
	l := Draw{Watts: amount(v.Get("watts")), Circuit: -1}
	if v.Get("watts") == nil {
		l.Watts = r.c.wattsOf(v.Get("profile").Word())
	}
	name := v.Get("circuit")
	if name == nil {
		return l
	}
	var names []string
	for i, c := range r.c.power.Circuits {
		if c.Name == name.Text {
			l.Circuit = i
		}
		names = append(names, c.Name)
	}
	if l.Circuit < 0 && !r.c.rig.Broken("circuits") {
		r.c.Unknown(name, "circuit", "circuits", names)
	}
	return l
}

// amount reads the number of "60 W", or 0 where there is none.
func amount(v *language.Value) float64 {
	if v == nil {
		return 0
	}
	n, _ := language.Measure(v.Text)
	return language.Float(n)
}
