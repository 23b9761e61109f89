package shows

import (
	"fmt"
	"io/fs"
	"path"
	"strings"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/dmx"
	"tactus/shows/language"
)

func (c *compiler) compileRig() {
	c.compileWire()
	c.checkWhite()
	universes := c.compileUniverses(c.rig.Get("universes"))
	profiles := c.compileProfiles(c.rig.Get("profiles"))
	c.heads = newHeadNames(c)
	c.compilePower()
	r := patchBuilder{c: c, universes: universes, profiles: profiles, owner: map[[2]int]owner{}, seen: map[string]*language.Value{}}
	for _, e := range c.rig.Get("fixtures").All() {
		r.fixture(e)
	}
	c.heads.groups(c.rig.Get("groups"))
	for _, h := range c.heads.targets(c.rig.Get("keep")) {
		c.program.Heads[h].Keep = true
	}
	for _, h := range c.heads.targets(c.rig.Get("blackout spares")) {
		c.program.Heads[h].Spared = true
	}
	c.facesAudience = c.heads.targets(c.rig.Get("faces audience"))
	c.compileLayers()
	c.compileInputs(c.rig.Get("inputs"), universes)
	if c.unplaced || len(c.List) > 0 {
		return // a patch needs whole fixtures
	}
	patch, err := fixtures.NewPatchAfter(c.loader.patch, len(c.program.Universes), c.placements)
	if err != nil {
		c.At(c.rig.Get("fixtures"), err.Error(), "", "")
	}
	if c.program.Patch = patch; patch != nil {
		c.loader.patch = patch
	}
}

func (c *compiler) compileWire() {
	s, a := c.rig.Get("sacn"), c.rig.Get("artnet")
	if n := s.Get("source name"); n != nil {
		if len(n.Text) > 63 {
			c.At(n, fmt.Sprintf("%d bytes long", len(n.Text)), "at most 63 bytes of UTF-8 (E1.31, 6.2.2)", "")
		}
		c.outputs.SACN.SourceName = n.Text
	}
	c.outputs.Free = c.rig.Get("frame grid").Word() == "free"
	c.outputs.SACN.Interface = s.Get("interface").Word()
	c.outputs.SACN.Sync = uint16(s.Get("sync universe").Num(0))
	c.outputs.ArtNet = ArtNetSettings{a.Get("interface").Word(), a.Get("sync").IsYes(false), a.Get("poll").IsYes(true)}
}

// compileUniverses returns the engine's index of each universe.
func (c *compiler) compileUniverses(v *language.Value) map[string]int {
	index := map[string]int{}
	taken := map[string]string{}
	for _, e := range v.All() {
		name := e.Key.Text
		index[name] = len(c.program.Universes)
		c.program.Universes = append(c.program.Universes, name)
		u := universeOf(name, e.Value)
		c.compileLead(&u, e.Value)
		c.outputs.Universes = append(c.outputs.Universes, u)
		number := e.Value.Get("sacn")
		if number == nil {
			number = e.Value.Get("art-net")
		}
		key := fmt.Sprintf("%s universe %d", u.Protocol, u.Number)
		if other, ok := taken[key]; ok && number != nil {
			c.At(number, fmt.Sprintf("%s is %q already", key, other), "give each universe its own number", "")
		}
		if number != nil {
			taken[key] = name
		}
	}
	return index
}

func universeOf(name string, v *language.Value) Universe {
	u := Universe{
		Name: name, To: v.Get("to").Addresses(), Priority: uint8(v.Get("priority").Num(100)),
		Rate: dmx.MaxRate, OnChange: v.Get("send").Word() == "on change",
	}
	if n := v.Get("sacn"); n != nil {
		u.Protocol, u.Number = SACN, int(n.Number)
		u.Multicast = v.Get("multicast").IsYes(len(u.To) == 0)
	} else if n := v.Get("art-net"); n != nil {
		u.Protocol, u.Number = ArtNet, int(n.Number)
		u.Broadcast = v.Get("broadcast").IsYes(false)
	}
	if rate := v.Get("rate"); rate != nil {
		amount, _ := language.Measure(rate.Text)
		u.Rate = int(language.Float(amount))
	}
	return u
}

// compileProfiles returns the built-in profiles, those of the folder and the
// rig's own.
func (c *compiler) compileProfiles(v *language.Value) map[string]*fixtures.Profile {
	profiles := map[string]*fixtures.Profile{}
	files, err := fs.Glob(fixtures.Library, "library/*.yaml")
	if err != nil {
		panic(err) // the pattern is ours
	}
	for _, file := range files {
		src, err := fixtures.Library.ReadFile(file)
		if err != nil {
			panic(err) // it is part of the binary
		}
		f, problems := c.loader.parseAs(file, language.ProfileFile, src)
		for _, p := range problems {
			c.Add(p)
		}
		name := strings.TrimSuffix(path.Base(file), ".yaml")
		profiles[name] = c.profile(name, f.Root, f.Root)
		c.listProfile(profiles[name], BuiltIn, f.Root)
	}
	has := map[string]string{}
	for name := range profiles {
		has[name] = "is built in already"
	}
	for _, f := range c.profiles {
		name := strings.TrimSuffix(path.Base(f.Name), ".yaml")
		what, allowed := "", "give your own profile another name"
		switch shape := language.ProfileName(); {
		case has[name] != "":
			what = fmt.Sprintf("%q %s", name, has[name])
		case !shape.Matches(name):
			what, allowed = fmt.Sprintf("%q is no name", language.Shorten(name)), shape.Wants()
		}
		if what != "" {
			c.Add(language.Problem{File: f.Name, What: what, Allowed: allowed})
			continue
		}
		has[name] = "is in " + f.Name + " already"
		profiles[name] = c.profile(name, f.Root, f.Root)
		c.listProfile(profiles[name], f.Name, f.Root)
	}
	for _, e := range v.All() {
		if is := has[e.Key.Text]; is != "" {
			c.At(e.Key, fmt.Sprintf("%q %s", e.Key.Text, is), "give your own profile another name", "")
			continue
		}
		profiles[e.Key.Text] = c.profile(e.Key.Text, e.Value, e.Key)
		c.listProfile(profiles[e.Key.Text], language.RigFile.Where(), e.Value)
	}
	return profiles
}

// profile compiles a profile; nil if it has no channels.
func (c *compiler) profile(name string, v, at *language.Value) *fixtures.Profile {
	var channels []fixtures.Channel
	for _, item := range v.Get("channels").Items() {
		ch, err := fixtures.ParseChannel(item.Text)
		if err != nil {
			c.At(item, err.Error(), "", "")
		}
		channels = append(channels, ch)
	}
	if v.Get("channels") == nil {
		return nil
	}
	p, err := fixtures.NewProfile(name, v.Get("about").Word(), channels)
	if err != nil {
		c.At(at, err.Error(), "", "")
		return p
	}
	p.White, p.Emitters = c.rigWhite(), emittersOf(v.Get("emitters"))
	p.Bright = c.rig.Get("whites").Word() == "bright"
	p.Curve, _ = fixtures.CurveByName(v.Get("curve").Word())
	return p
}

// emittersOf returns every kind of emitter, as the profile describes it or typical.
func emittersOf(v *language.Value) []fixtures.Emitter {
	var all []fixtures.Emitter
	for _, name := range fixtures.EmitterNames() {
		param, _ := fixtures.EmitterByName(name)
		e := fixtures.Typical(param)
		own := v.Get(name)
		if at, err := fixtures.ParseXY(own.Get("colour").Word()); err == nil {
			e.Chromaticity = at
		}
		if n := own.Get("flux"); n != nil {
			e.Flux = float64(n.Num(1))
		}
		all = append(all, e)
	}
	return all
}

// compileLayers reads what acts over the cues: groups with masters, house and work
// light, least levels, the hazers' cycle.
func (c *compiler) compileLayers() {
	p := c.program
	for _, h := range c.heads.targets(c.rig.Get("house lights")) {
		p.Heads[h].House = true
	}
	for _, h := range c.heads.targets(c.rig.Get("work light")) {
		p.Heads[h].Work = true
	}
	for _, e := range c.rig.Get("groups").All() {
		if heads := c.heads.heads[e.Key.Text]; len(p.Groups) < engine.MaxGroups {
			p.Groups = append(p.Groups, engine.Group{Name: e.Key.Text, Heads: heads})
		}
	}
	c.compileFaders(c.show.Get("daw").Get("faders"))
	for _, e := range c.rig.Get("floors").All() {
		f := engine.Floor{Heads: c.heads.targets(e.Key), Level: e.Value.Share(0)}
		c.checkHeadsHave(e.Key, f.Heads, "intensity", fixtures.Intensity)
		p.Floors = append(p.Floors, f)
	}
	haze := c.rig.Get("haze cycle")
	on, every := haze.Get("on"), haze.Get("every")
	p.Haze = engine.DutyCycle{On: on.Time(0), Every: every.Time(0)}
	if on != nil && every != nil && p.Haze.On > p.Haze.Every {
		c.At(on, fmt.Sprintf("on for %s of every %s", on.Text, every.Text), "at most the cycle", "")
	}
}
