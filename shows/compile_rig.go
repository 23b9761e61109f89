package shows

import (
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

func (c *compiler) compileRig() {
	c.compileWire()
	c.checkWhite()
	universes := c.compileUniverses(c.rig.get("universes"))
	profiles := c.compileProfiles(c.rig.get("profiles"))
	c.heads = newHeadNames(c)
	c.compilePower()
	r := rigger{c: c, universes: universes, profiles: profiles, owner: map[[2]int]string{}, seen: map[string]*value{}}
	for _, e := range c.rig.get("fixtures").all() {
		r.fixture(e)
	}
	c.heads.groups(c.rig.get("groups"))
	for _, h := range c.heads.targets(c.rig.get("keep")) {
		c.program.Heads[h].Keep = true
	}
	for _, h := range c.heads.targets(c.rig.get("blackout spares")) {
		c.program.Heads[h].Spared = true
	}
	c.compileLayers()
	if c.unplaced || len(c.list) > 0 {
		return // the patch takes whole fixtures only
	}
	patch, err := fixtures.NewPatch(len(c.program.Universes), c.placements)
	if err != nil {
		c.at(c.rig.get("fixtures"), err.Error(), "", "")
	}
	c.program.Patch = patch
}

func (c *compiler) compileWire() {
	s, a := c.rig.get("sacn"), c.rig.get("artnet")
	if n := s.get("source name"); n != nil {
		if len(n.text) > 63 {
			c.at(n, fmt.Sprintf("%d bytes long", len(n.text)), "at most 63 bytes of UTF-8 (E1.31, 6.2.2)", "")
		}
		c.outputs.SACN.SourceName = n.text
	}
	c.outputs.Free = c.rig.get("frame grid").word() == "free"
	c.outputs.SACN.Interface = s.get("interface").word()
	c.outputs.SACN.Sync = uint16(s.get("sync universe").num(0))
	c.outputs.ArtNet = ArtNetSettings{a.get("interface").word(), a.get("sync").is(false), a.get("poll").is(true)}
}

// compileUniverses returns the engine's index of each universe.
func (c *compiler) compileUniverses(v *value) map[string]int {
	index := map[string]int{}
	taken := map[string]string{}
	for _, e := range v.all() {
		name := e.key.text
		index[name] = len(c.program.Universes)
		c.program.Universes = append(c.program.Universes, name)
		u := universeOf(name, e.value)
		c.compileLead(&u, e.value)
		c.outputs.Universes = append(c.outputs.Universes, u)
		number := e.value.get("sacn")
		if number == nil {
			number = e.value.get("art-net")
		}
		key := fmt.Sprintf("%s universe %d", u.Protocol, u.Number)
		if other, ok := taken[key]; ok && number != nil {
			c.at(number, fmt.Sprintf("%s is %q already", key, other), "give each universe its own number", "")
		}
		if number != nil {
			taken[key] = name
		}
	}
	return index
}

func universeOf(name string, v *value) Universe {
	u := Universe{
		Name: name, To: v.get("to").addresses(), Priority: uint8(v.get("priority").num(100)),
		Rate: dmx.MaxRate, OnChange: v.get("send").word() == "on change",
	}
	if n := v.get("sacn"); n != nil {
		u.Protocol, u.Number = SACN, int(n.number)
		u.Multicast = v.get("multicast").is(len(u.To) == 0)
	} else if n := v.get("art-net"); n != nil {
		u.Protocol, u.Number = ArtNet, int(n.number)
		u.Broadcast = v.get("broadcast").is(false)
	}
	if rate := v.get("rate"); rate != nil {
		amount, _ := measure(rate.text)
		u.Rate = int(float(amount))
	}
	return u
}

// compileProfiles returns the built-in profiles, those of the folder and the
// rig's own.
func (c *compiler) compileProfiles(v *value) map[string]*fixtures.Profile {
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
		f, problems := parse(file, ProfileFile, src)
		for _, p := range problems {
			c.add(p)
		}
		name := strings.TrimSuffix(path.Base(file), ".yaml")
		profiles[name] = c.profile(name, f.root, f.root)
	}
	has := map[string]string{}
	for name := range profiles {
		has[name] = "is built in already"
	}
	for _, f := range c.profiles {
		name := strings.TrimSuffix(path.Base(f.Name), ".yaml")
		what, allowed := "", "give your own profile another name"
		switch shape := profileName(); {
		case has[name] != "":
			what = fmt.Sprintf("%q %s", name, has[name])
		case !shape.matches(name):
			what, allowed = fmt.Sprintf("%q is no name", shorten(name)), shape.wants()
		}
		if what != "" {
			c.add(Problem{File: f.Name, What: what, Allowed: allowed})
			continue
		}
		has[name] = "is in " + f.Name + " already"
		profiles[name] = c.profile(name, f.root, f.root)
	}
	for _, e := range v.all() {
		if is := has[e.key.text]; is != "" {
			c.at(e.key, fmt.Sprintf("%q %s", e.key.text, is), "give your own profile another name", "")
			continue
		}
		profiles[e.key.text] = c.profile(e.key.text, e.value, e.key)
	}
	return profiles
}

// profile returns nil when there is nothing to make one of.
func (c *compiler) profile(name string, v, at *value) *fixtures.Profile {
	var channels []fixtures.Channel
	for _, item := range v.get("channels").items() {
		ch, err := fixtures.ParseChannel(item.text)
		if err != nil {
			c.at(item, err.Error(), "", "")
		}
		channels = append(channels, ch)
	}
	if v.get("channels") == nil {
		return nil
	}
	p, err := fixtures.NewProfile(name, v.get("about").word(), channels)
	if err != nil {
		c.at(at, err.Error(), "", "")
		return p
	}
	p.White, p.Emitters = c.white(), emittersOf(v.get("emitters"))
	p.Bright = c.rig.get("whites").word() == "bright"
	p.Curve, _ = fixtures.CurveByName(v.get("curve").word())
	return p
}

// emittersOf returns every emitter there is, as the profile describes it or as
// most are.
func emittersOf(v *value) []fixtures.Emitter {
	var all []fixtures.Emitter
	for _, name := range fixtures.EmitterNames() {
		param, _ := fixtures.EmitterByName(name)
		e := fixtures.Typical(param)
		own := v.get(name)
		if at, err := fixtures.ParseXY(own.get("colour").word()); err == nil {
			e.At = at
		}
		if n := own.get("flux"); n != nil {
			e.Flux = float64(n.num(1))
		}
		all = append(all, e)
	}
	return all
}

func profileNames(profiles map[string]*fixtures.Profile) []string {
	return slices.Sorted(maps.Keys(profiles))
}

// compileLayers reads what stands above the cues: groups with masters, house and
// work light, floors, the hazers' cycle.
func (c *compiler) compileLayers() {
	p := c.program
	for _, h := range c.heads.targets(c.rig.get("house lights")) {
		p.Heads[h].House = true
	}
	for _, h := range c.heads.targets(c.rig.get("work light")) {
		p.Heads[h].Work = true
	}
	for _, e := range c.rig.get("groups").all() {
		if heads := c.heads.heads[e.key.text]; len(p.Groups) < engine.MaxGroups {
			p.Groups = append(p.Groups, engine.Group{Name: e.key.text, Heads: heads})
		}
	}
	c.compileFaders(c.show.get("daw").get("faders"))
	for _, e := range c.rig.get("floors").all() {
		f := engine.Floor{Heads: c.heads.targets(e.key), Level: e.value.share(0)}
		c.able(e.key, f.Heads, "intensity", fixtures.Intensity)
		p.Floors = append(p.Floors, f)
	}
	haze := c.rig.get("haze cycle")
	on, every := haze.get("on"), haze.get("every")
	p.Haze = engine.Duty{On: on.time(0), Every: every.time(0)}
	if on != nil && every != nil && p.Haze.On > p.Haze.Every {
		c.at(on, fmt.Sprintf("on for %s of every %s", on.text, every.text), "at most the cycle", "")
	}
}
