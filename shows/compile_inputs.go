package shows

import (
	"fmt"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
)

// Input is a universe that a run takes in, such as the faders of a house desk. What it
// does to the light is in Program.LevelInputs and Program.Faders, by the same index.
type Input struct {
	Name     string
	Universe uint16 // sACN, 1..63999
}

// Label prints the name with what it is on the wire: "house desk (sACN 11)".
func (in *Input) Label() string { return fmt.Sprintf("%s (sACN %d)", in.Name, in.Universe) }

// compileInputs reads the universes that come in.
func (c *compiler) compileInputs(v *language.Value, universes map[string]int) {
	taken := map[int64]string{}
	for i := range c.outputs.Universes {
		if u := &c.outputs.Universes[i]; u.Protocol == SACN {
			taken[int64(u.Number)] = fmt.Sprintf("sent by this show, as %q", u.Name)
		}
	}
	for _, e := range v.All() {
		name, number := e.Key.Text, e.Value.Get("sacn")
		if number == nil {
			continue // said already
		}
		if is := taken[number.Number]; is != "" {
			c.At(number, fmt.Sprintf("sACN universe %d is %s", number.Number, is), "a universe that nothing else uses", "")
		}
		taken[number.Number] = fmt.Sprintf("input %q already", name)
		in := Input{Name: name, Universe: uint16(number.Number)}
		c.inputs = append(c.inputs, in)
		c.program.LevelInputs = append(c.program.LevelInputs, engine.LevelInput{
			Name: name, Wire: fmt.Sprintf("sACN %d", in.Universe), Hold: e.Value.Get("when lost").Word() == "hold",
		})
		takes := engine.TakesHighest
		for _, t := range []engine.Takes{engine.TakesLast, engine.TakesScale} {
			if e.Value.Get("takes").Word() == t.String() {
				takes = t
			}
		}
		if as := e.Value.Get("patched as"); as != nil {
			c.compileSamePatch(e.Value, as, universes, takes)
			continue
		}
		for _, f := range e.Value.Get("faders").All() {
			heads := c.heads.targets(f.Key)
			c.checkHeadsHave(f.Key, heads, "intensity", fixtures.Intensity)
			c.addFader(f.Key.Text, int(f.Value.Num(1)), heads, takes)
		}
	}
}

// addFader adds a fader of the last input.
func (c *compiler) addFader(name string, slot int, heads []int32, takes engine.Takes) {
	c.program.Faders = append(c.program.Faders, engine.Fader{
		Input: int32(len(c.program.LevelInputs) - 1), Slot: slot, Name: name, Heads: heads, Takes: takes,
	})
}

// compileSamePatch makes a fader of each head's slot of intensity, for a desk that is
// patched as one of the show's universes.
func (c *compiler) compileSamePatch(v, as *language.Value, universes map[string]int, takes engine.Takes) {
	u, known := universes[as.Text]
	if !known {
		c.UnknownAt(as, fmt.Sprintf("no universe %q", language.Shorten(as.Text)), language.Listed("they are", language.Ranges(c.program.Universes)), language.Nearest(as.Text, c.program.Universes))
		return
	}
	groups := v.Get("groups")
	if groups == nil {
		before := len(c.program.Faders)
		for h := range c.program.Heads {
			if slot := c.slotOfIntensity(int32(h), u); slot > 0 {
				c.addFader(c.program.Heads[h].Name, slot, []int32{int32(h)}, takes)
			}
		}
		if len(c.program.Faders) == before && c.rig.Get("fixtures") != nil {
			c.At(as, fmt.Sprintf("no fixture in %q has a channel for intensity", as.Text), "name groups and slots under faders", "")
		}
		return
	}
	seen := map[int32]bool{}
	for _, item := range groups.Items() {
		for _, h := range c.heads.find(item) {
			slot := c.slotOfIntensity(h, u)
			if slot == 0 {
				c.At(item, fmt.Sprintf("%q has no channel for intensity in universe %q", c.program.Heads[h].Name, as.Text), "fixtures of that universe that have one, or faders", "")
				break
			}
			if !seen[h] {
				c.addFader(c.program.Heads[h].Name, slot, []int32{h}, takes)
			}
			seen[h] = true
		}
	}
}

// slotOfIntensity returns the slot of a head's own intensity, high byte, if it is in a
// universe; else 0.
func (c *compiler) slotOfIntensity(head int32, universe int) int {
	at := &c.placements[c.program.Heads[head].Fixture]
	if at.Universe != universe || at.Profile == nil {
		return 0
	}
	own := uint8(int(head) - at.Head)
	for i, ch := range at.Profile.Channels {
		if ch.Use == fixtures.Level && ch.Param == fixtures.Intensity && ch.Head == own {
			return at.Address + i
		}
	}
	return 0
}
