package shows

import (
	"fmt"
	"regexp"
	"strconv"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// rigger places fixtures and keeps book of who has which slot.
type rigger struct {
	c         *compiler
	universes map[string]int
	profiles  map[string]*fixtures.Profile
	owner     map[[2]int]string // universe and slot
	seen      map[string]*value // fixtures and heads by name
	full      bool              // too many fixtures, said once
}

var rangeName = regexp.MustCompile(`^(.*\S) ([0-9]+)-([0-9]+)$`)

// maxRange is how many fixtures one line may stand for.
const maxRange = 512

// maxFixtures is far above what 1,024 universes of a hall hold.
const maxFixtures = 32768

// spell returns the names that a name or a range such as "wash 1-8" stands for,
// or why it stands for none.
func spell(name string) (names []string, fault string) {
	m := rangeName.FindStringSubmatch(name)
	if m == nil {
		return []string{name}, ""
	}
	first, err1 := strconv.Atoi(m[2])
	last, err2 := strconv.Atoi(m[3])
	switch {
	case leadingZero(m[2]) || leadingZero(m[3]):
		return nil, fmt.Sprintf("%q counts with a needless 0", shorten(name))
	case err1 != nil || err2 != nil || last <= first:
		return nil, fmt.Sprintf("%q does not count upwards", shorten(name))
	case last-first >= maxRange:
		return nil, fmt.Sprintf("%q stands for %d fixtures, at most %d", shorten(name), last-first+1, maxRange)
	}
	for i := first; i <= last; i++ {
		names = append(names, fmt.Sprintf("%s %d", m[1], i))
	}
	return names, ""
}

// fixture places what one line of fixtures stands for. It names the heads even
// when it cannot place them, so that nothing else complains of them.
func (r *rigger) fixture(e entry) {
	names, fault := spell(e.key.text)
	if fault != "" {
		r.c.at(e.key, fault, "a range such as wash 1-8", "")
		return
	}
	if len(r.c.placements)+len(names) > maxFixtures {
		if !r.full {
			r.c.at(e.key, fmt.Sprintf("more than %d fixtures", maxFixtures), "", "")
		}
		r.full = true
		return
	}
	v := e.value
	profile, known := r.profiles[v.get("profile").word()]
	if p := v.get("profile"); p != nil && !known {
		r.c.unknown(p, "profile", "profiles", profileNames(r.profiles))
	}
	universe, ok := r.universes[v.get("universe").word()]
	if u := v.get("universe"); u != nil && !ok && r.c.rig.get("universes") != nil {
		r.c.unknown(u, "universe", "universes", r.c.program.Universes)
	}
	heads, step := 1, 1
	if profile != nil {
		heads, step = profile.Heads, profile.Footprint()
	}
	if every := v.get("every"); every != nil {
		if int(every.number) < step {
			r.c.at(every, fmt.Sprintf("%d slots apart, but each takes %d", every.number, step), "", "")
		}
		step = int(every.number)
	}
	at := row(v, len(names)*heads)
	r.travels(v, profile)
	load := r.load(v)
	for i, name := range names {
		if other := r.taken(name, heads); other != nil {
			r.c.at(e.key, fmt.Sprintf("there is a fixture %q already", name),
				fmt.Sprintf("the first is on line %d", other.line), "")
			continue
		}
		for _, n := range headsOf(name, heads) {
			r.seen[n] = e.key
		}
		p := fixtures.Placement{
			Name: name, Profile: profile, Universe: universe,
			Address: int(v.get("address").num(0)) + i*step, Head: len(r.c.program.Heads),
			Pan: v.get("pan").travel(), Tilt: v.get("tilt").travel(),
		}
		r.c.heads.fixture(name, heads, int32(len(r.c.placements)), at[i*heads:])
		if ok && profile != nil && v.get("address") != nil {
			r.claim(p, v.get("address"))
		} else {
			r.c.unplaced = true
		}
		r.c.placements = append(r.c.placements, p)
		r.c.power.Draws = append(r.c.power.Draws, load)
	}
}

// travels checks the limits of pan and tilt.
func (r *rigger) travels(v *value, profile *fixtures.Profile) {
	for _, param := range []fixtures.Param{fixtures.Pan, fixtures.Tilt} {
		limits := v.get(param.String())
		if limits == nil {
			continue
		}
		if profile != nil && !profile.Has(param) {
			r.c.at(limits, fmt.Sprintf("%s has no %s", profile.Name, param), "", "")
		}
		if t := limits.travel(); t.From >= t.To && !limits.broken("from") && !limits.broken("to") {
			r.c.at(limits, fmt.Sprintf("from %.4g %% to %.4g %%", 100*t.From, 100*t.To), "from below to; invert turns it round", "")
		}
	}
}

// taken returns where the name, or that of one of its heads, stands already.
func (r *rigger) taken(name string, heads int) *value {
	for _, n := range headsOf(name, heads) {
		if other := r.seen[n]; other != nil {
			return other
		}
	}
	return nil
}

// headsOf lists the names that a fixture takes: its own and, when it has
// several heads, theirs.
func headsOf(name string, heads int) []string {
	names := []string{name}
	for i := 1; heads > 1 && i <= heads; i++ {
		names = append(names, fmt.Sprintf("%s.%d", name, i))
	}
	return names
}

// row spaces n heads evenly between the ends of a row, or puts them all in one
// place.
func row(v *value, n int) []engine.Point {
	at := make([]engine.Point, n)
	if p, ok := v.get("at").point(); ok {
		for i := range at {
			at[i] = p
		}
	}
	from, ok1 := v.get("from").point()
	to, ok2 := v.get("to").point()
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

// claim takes the slots of a fixture and reports those that are not to be had.
func (r *rigger) claim(p fixtures.Placement, at *value) {
	last := p.Address + p.Profile.Footprint() - 1
	if last > dmx.Slots {
		r.c.at(at, fmt.Sprintf("%s takes slots %d to %d", p.Name, p.Address, last),
			fmt.Sprintf("a universe has %d", dmx.Slots), "")
		return
	}
	universe := r.c.program.Universes[p.Universe]
	for slot := p.Address; slot <= last; slot++ {
		key := [2]int{p.Universe, slot}
		if other := r.owner[key]; other != "" {
			r.c.at(at, fmt.Sprintf("%s and %s both have slot %d of %s", other, p.Name, slot, universe),
				fmt.Sprintf("%s takes %d to %d", p.Name, p.Address, last), "")
			return
		}
	}
	for slot := p.Address; slot <= last; slot++ {
		r.owner[[2]int{p.Universe, slot}] = p.Name
	}
}
