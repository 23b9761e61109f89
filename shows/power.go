package shows

import (
	"tactus/fixtures"
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

// Group is a named set of fixtures.
type Group struct {
	Name  string
	Heads []int32
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
		l.Watts = amount(r.c.rig.Get("profiles").Get(v.Get("profile").Word()).Get("watts"))
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

// namedGroups lists the rig's groups in file order.
func (c *compiler) namedGroups() (list []Group) {
	for _, e := range c.rig.Get("groups").All() {
		list = append(list, Group{e.Key.Text, c.heads.heads[e.Key.Text]})
	}
	return list
}

// GroupsOf names the groups that hold a head of a placement.
func (s *Show) GroupsOf(placement int) (names []string) {
	for _, g := range s.Groups {
		for _, h := range g.Heads {
			if s.Program.Heads[h].Fixture == int32(placement) {
				names = append(names, g.Name)
				break
			}
		}
	}
	return names
}

// Free is a run of slots that nothing is patched to.
type Free struct {
	Universe    int // the engine's index
	First, Last int // slots, 1 to 512
}

// Gaps lists the runs of free slots before the last patched slot of each universe.
// They may be intended.
func Gaps(p *fixtures.Patch) (list []Free) {
	for u := range p.Universes() {
		var taken [514]bool
		last := 0
		for _, f := range p.Placements() {
			for s := f.Address; f.Universe == u && s < f.Address+f.Profile.Footprint(); s++ {
				taken[s] = true
				last = max(last, s)
			}
		}
		for s := 1; s <= last; s++ {
			if taken[s] {
				continue
			}
			first := s
			for !taken[s+1] {
				s++
			}
			list = append(list, Free{u, first, s})
		}
	}
	return list
}
