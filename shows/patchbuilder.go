package shows

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/dmx"
	"tactus/shows/language"
)

// patchBuilder places fixtures and records which fixture has which slot.
type patchBuilder struct {
	c         *compiler
	universes map[string]int
	profiles  map[string]*fixtures.Profile
	owner     map[[2]int]owner           // by universe and slot
	seen      map[string]*language.Value // fixtures and heads by name
	full      bool                       // too many fixtures, said once
}

var rangeName = regexp.MustCompile(`^(.*\S) ([0-9]+)-([0-9]+)$`)

// maxRange is how many fixtures one line may stand for.
const maxRange = 512

// maxFixtures is far above what 1,024 universes of a hall hold.
const maxFixtures = 32768

// expandName returns the names that a name or a range such as "wash 1-8" stands for, or
// what is wrong with it.
func expandName(name string) (names []string, fault string) {
	m := rangeName.FindStringSubmatch(name)
	if m == nil {
		return []string{name}, ""
	}
	first, err1 := strconv.Atoi(m[2])
	last, err2 := strconv.Atoi(m[3])
	switch {
	case language.LeadingZero(m[2]) || language.LeadingZero(m[3]):
		return nil, fmt.Sprintf("%q counts with a needless 0", language.Shorten(name))
	case err1 != nil || err2 != nil || last <= first:
		return nil, fmt.Sprintf("%q does not count upwards", language.Shorten(name))
	case last-first >= maxRange:
		return nil, fmt.Sprintf("%q stands for %d fixtures, at most %d", language.Shorten(name), last-first+1, maxRange)
	}
	for i := first; i <= last; i++ {
		names = append(names, fmt.Sprintf("%s %d", m[1], i))
	}
	return names, ""
}

// fixture places the fixtures of one line. Heads that it cannot place get their names
// all the same, so that groups and looks that use them have no second fault.
func (r *patchBuilder) fixture(e language.Entry) {
	names, fault := expandName(e.Key.Text)
	if fault != "" {
		r.c.At(e.Key, fault, "a range such as wash 1-8", "")
		return
	}
	if len(r.c.placements)+len(names) > maxFixtures {
		if !r.full {
			r.c.At(e.Key, fmt.Sprintf("more than %d fixtures", maxFixtures), "", "")
		}
		r.full = true
		return
	}
	v := e.Value
	profile, known := r.profiles[v.Get("profile").Word()]
	if p := v.Get("profile"); p != nil && !known {
		r.c.Unknown(p, "profile", "profiles", slices.Sorted(maps.Keys(r.profiles)))
	}
	universe, ok := r.universes[v.Get("universe").Word()]
	if u := v.Get("universe"); u != nil && !ok && r.c.rig.Get("universes") != nil {
		r.unknownUniverse(u)
	}
	heads, step := 1, 1
	if profile != nil {
		heads, step = profile.Heads, profile.Footprint()
	}
	if every := v.Get("every"); every != nil {
		if int(every.Number) < step {
			r.c.At(every, fmt.Sprintf("%d slots apart, but each takes %d", every.Number, step), "", "")
		}
		step = int(every.Number)
	}
	at := placesOfRow(v, len(names)*heads)
	r.travels(v, profile)
	load := r.drawOf(v)
	for i, name := range names {
		if other := r.firstUseOf(name, heads); other != nil {
			r.c.Clash(e.Key, fmt.Sprintf("there is a fixture %q already", name), fmt.Sprintf("the first is on line %d", other.Line), other.Line)
			continue
		}
		for _, n := range headsOf(name, heads) {
			r.seen[n] = e.Key
		}
		p := fixtures.Placement{
			Name: name, Profile: profile, Universe: universe,
			Address: int(v.Get("address").Num(0)) + i*step, Head: len(r.c.program.Heads),
			Pan: v.Get("pan").Travel(), Tilt: v.Get("tilt").Travel(),
		}
		r.c.heads.fixture(name, heads, int32(len(r.c.placements)), at[i*heads:])
		if ok && profile != nil && v.Get("address") != nil {
			r.claim(p, v.Get("address"))
		} else {
			r.c.unplaced = true
		}
		r.c.placements = append(r.c.placements, p)
		r.c.power.Draws = append(r.c.power.Draws, load)
	}
}

// unknownUniverse reports the name of a universe that does not exist, and lists those
// that do with their protocols and numbers.
func (r *patchBuilder) unknownUniverse(name *language.Value) {
	var list []string
	for i := range r.c.outputs.Universes {
		list = append(list, r.c.outputs.Universes[i].Label())
	}
	r.c.UnknownAt(name, fmt.Sprintf("no universe %q", language.Shorten(name.Text)), language.Listed("universes are", list), language.Nearest(name.Text, r.c.program.Universes))
}

// travels checks the limits of pan and tilt.
func (r *patchBuilder) travels(v *language.Value, profile *fixtures.Profile) {
	for _, param := range []fixtures.Param{fixtures.Pan, fixtures.Tilt} {
		limits := v.Get(param.String())
		if limits == nil {
			continue
		}
		if profile != nil && !profile.Has(param) {
			r.c.At(limits, fmt.Sprintf("%s has no %s", profile.Name, param), "", "")
		}
		if t := limits.Travel(); t.From >= t.To && !limits.Broken("from") && !limits.Broken("to") {
			r.c.At(limits, fmt.Sprintf("from %.4g %% to %.4g %%", 100*t.From, 100*t.To), "from below to; invert turns it round", "")
		}
	}
}

// firstUseOf returns where the name, or that of one of its heads, is written already.
func (r *patchBuilder) firstUseOf(name string, heads int) *language.Value {
	for _, n := range headsOf(name, heads) {
		if other := r.seen[n]; other != nil {
			return other
		}
	}
	return nil
}

// headsOf lists the names of a fixture and, if it has several, of its heads.
func headsOf(name string, heads int) []string {
	names := []string{name}
	for i := 1; heads > 1 && i <= heads; i++ {
		names = append(names, headName(name, i))
	}
	return names
}

// placesOfRow returns the places of n heads: evenly between the ends of a row, or all in one
// place.
func placesOfRow(v *language.Value, n int) []engine.Point {
	at := make([]engine.Point, n)
	if p, ok := v.Get("at").Point(); ok {
		for i := range at {
			at[i] = p
		}
	}
	from, ok1 := v.Get("from").Point()
	to, ok2 := v.Get("to").Point()
	if !ok1 || !ok2 {
		return at
	}
	for i := range at {
		x := 0.5
		if n > 1 {
			x = float64(i) / float64(n-1)
		}
		at[i] = engine.Point{X: between(from.X, to.X, x), Y: between(from.Y, to.Y, x), Z: between(from.Z, to.Z, x)}
	}
	return at
}

func between(a, b, x float64) float64 { return float64(a*(1-x)) + float64(b*x) }

// owner is a fixture that has a slot, and the line of its address.
type owner struct {
	name string
	line int
}

// claim takes the slots of a fixture and reports those that are taken or beyond 512.
func (r *patchBuilder) claim(p fixtures.Placement, at *language.Value) {
	last := p.Address + p.Profile.Footprint() - 1
	if last > dmx.Slots {
		r.c.At(at, fmt.Sprintf("%s takes slots %d to %d", p.Name, p.Address, last),
			fmt.Sprintf("a universe has %d", dmx.Slots), "")
		return
	}
	universe := r.c.program.Universes[p.Universe]
	for slot := p.Address; slot <= last; slot++ {
		key := [2]int{p.Universe, slot}
		if other := r.owner[key]; other.name != "" {
			r.c.Clash(at, fmt.Sprintf("%s and %s both have slot %d of %s", other.name, p.Name, slot, universe),
				fmt.Sprintf("%s takes %d to %d", p.Name, p.Address, last), other.line)
			return
		}
	}
	for slot := p.Address; slot <= last; slot++ {
		r.owner[[2]int{p.Universe, slot}] = owner{p.Name, at.Line}
	}
}
