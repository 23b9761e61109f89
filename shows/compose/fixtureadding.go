package compose

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tactus/fixtures"
	"tactus/protocol/dmx"
	"tactus/shows"
	"tactus/shows/language"
)

// AddFixtures adds a row of fixtures of one kind. What is not said of names and addresses
// is chosen so that nothing overlaps.
type AddFixtures struct {
	Name     string    `json:"name,omitempty"`   // without a number; "": the profile's
	Number   int       `json:"number,omitempty"` // of the first; 0: after those of the same name
	Count    int       `json:"count"`            // 1 to 512
	Profile  string    `json:"profile"`
	Universe string    `json:"universe,omitempty"` // "": the first with room
	Address  int       `json:"address,omitempty"`  // of the first; 0: the first free slots
	From     []float64 `json:"from"`               // metres: to house right, to the back, up; of the first
	To       []float64 `json:"to"`                 // likewise, of the last
	Group    string    `json:"group,omitempty"`    // that they come into; it is made if there is none
	Watts    string    `json:"watts,omitempty"`    // of each at full, such as "180 W"
}

// maxAdded is how many fixtures a row may have: as many as a range of a rig file.
const maxAdded = 512

// Do returns "add fixtures".
func (e *AddFixtures) Do() string { return "add fixtures" }

// Words says what the edit does.
func (e *AddFixtures) Words() string {
	return fmt.Sprintf("%d new of %s", e.Count, cmp.Or(e.Name, e.Profile))
}

func (e *AddFixtures) edit(f *files) error {
	if e.Count < 1 || e.Count > maxAdded {
		return refuse(rigFile, 0, fmt.Sprintf("%d fixtures", e.Count), fmt.Sprintf("want 1 to %d", maxAdded))
	}
	if len(e.From) != 3 || len(e.To) != 3 {
		return refuse(rigFile, 0, "a place is missing", `want three numbers in "from" and in "to", in metres: to house right, to the back, up`)
	}
	rig, problems := f.rig()
	if len(problems) > 0 {
		return problems
	}
	i := slices.IndexFunc(rig.Profiles, func(p shows.Profile) bool { return p.Name == e.Profile })
	if i < 0 {
		return unknownName(rigFile, "profile", "profiles", e.Profile, profileNames(rig))
	}
	profile := rig.Profiles[i].Profile
	name, err := e.names(f, rig)
	if err != nil {
		return err
	}
	universe, address, err := roomFor(rig, e.Universe, e.Address, e.Count*profile.Footprint())
	if err != nil {
		return err
	}
	if err := addNamed(f, rigFile, "fixtures", "fixture", name, "", e.values(profile, universe, address)); err != nil || e.Group == "" {
		return err
	}
	members, err := f.texts(rigFile, place{"groups", e.Group})
	if err != nil {
		return err
	}
	return setNames(f, place{"groups", e.Group}, append(members, name))
}

// values are the keys of the row. A single fixture with several heads is a metre long.
func (e *AddFixtures) values(profile *fixtures.Profile, universe string, address int) Value {
	v := Value{given: true}
	v.put("profile", Text(e.Profile))
	v.put("universe", Text(universe))
	v.put("address", Number(address))
	if e.Watts != "" {
		v.put("watts", Text(e.Watts))
	}
	from, to := slices.Clone(e.From), slices.Clone(e.To)
	if e.Count == 1 {
		for i := range from {
			from[i] = (e.From[i] + e.To[i]) / 2
		}
		copy(to, from)
		if profile.Heads > 1 {
			from[0], to[0] = from[0]-0.5, to[0]+0.5
		}
	}
	if slices.Equal(from, to) {
		v.put("at", metres(from))
		return v
	}
	v.put("from", metres(from))
	v.put("to", metres(to))
	return v
}

// lastNumber matches what a fixture's name has behind its words: "wash 12".
var lastNumber = regexp.MustCompile(`^(.*\S) ([0-9]{1,9})$`)

// names returns what the rig file calls the row: names that neither fixtures nor groups
// have.
func (e *AddFixtures) names(f *files, rig *shows.Show) (string, error) {
	base := strings.TrimSpace(cmp.Or(e.Name, e.Profile))
	groups, err := f.keys(rigFile, place{"groups"})
	if err != nil {
		return "", err
	}
	have := map[string]string{}
	for _, g := range groups {
		have[g] = "group"
	}
	highest := 0
	for i := range rig.Program.Patch.Placements() {
		name := rig.Program.Patch.Placements()[i].Name
		have[name] = "fixture"
		if m := lastNumber.FindStringSubmatch(name); m != nil && strings.EqualFold(m[1], base) {
			n, _ := strconv.Atoi(m[2])
			highest = max(highest, n)
		}
	}
	if e.Count == 1 && e.Number == 0 && highest == 0 && have[base] == "" {
		return base, nil
	}
	first := e.Number
	if first == 0 {
		first = highest + 1
	}
	for n := first; n < first+e.Count; n++ {
		if what := have[fmt.Sprintf("%s %d", base, n)]; what != "" {
			return "", taken(rigFile, what, fmt.Sprintf("%s %d", base, n))
		}
	}
	if e.Count == 1 {
		return fmt.Sprintf("%s %d", base, first), nil
	}
	return fmt.Sprintf("%s %d-%d", base, first, first+e.Count-1), nil
}

func profileNames(rig *shows.Show) (list []string) {
	for i := range rig.Profiles {
		list = append(list, rig.Profiles[i].Name)
	}
	return list
}

// FindAddress moves a fixture, or a range of them, to the first slots of its universe, or of
// another, that no fixture has.
type FindAddress struct {
	Fixture  string `json:"fixture"` // as the rig file names it: "hazer", or a range such as "wash 1-4"
	Universe string `json:"universe,omitempty"`
}

// Do returns "find address".
func (e *FindAddress) Do() string { return "find address" }

// Words says what the edit does.
func (e *FindAddress) Words() string { return fmt.Sprintf("a free address for %s", e.Fixture) }

func (e *FindAddress) edit(f *files) error {
	if err := needFixture(f, e.Fixture); err != nil {
		return err
	}
	rig, problems := f.rig()
	if len(problems) > 0 {
		return problems
	}
	own := fixturesOf(e.Fixture)
	first, end, universe := dmx.Slots, 0, e.Universe
	for _, p := range rig.Program.Patch.Placements() {
		if slices.Contains(own, p.Name) {
			first, end = min(first, p.Address), max(end, p.Address+p.Profile.Footprint())
			universe = cmp.Or(universe, rig.Program.Universes[p.Universe])
		}
	}
	_, address, err := roomFor(rig, universe, 0, end-first)
	if err != nil {
		return err
	}
	return (&SetAddress{Fixture: e.Fixture, Address: address, Universe: e.Universe}).edit(f)
}

// roomFor returns the universe and the first of so many free slots in a row. universe "" is
// the first that has them; address 0 is the first free one.
func roomFor(rig *shows.Show, universe string, address, slots int) (string, int, error) {
	names := rig.Program.Universes
	if universe != "" {
		if !slices.Contains(names, universe) {
			return "", 0, unknownName(rigFile, "universe", "universes", universe, names)
		}
		names = []string{universe}
	}
	for _, name := range names {
		users := usersOf(rig, name)
		if address != 0 {
			return name, address, fits(users, name, address, slots)
		}
		var taken [dmx.Slots + 1]bool
		for s, user := range users {
			taken[s] = user != ""
		}
		if first := shows.FirstFreeRun(&taken, slots); first > 0 {
			return name, first, nil
		}
	}
	return "", 0, refuse(rigFile, 0, fmt.Sprintf("no %s has %s free in a row", cmp.Or(universe, "universe"), language.Count(slots, "slot")), "fewer at once, or another universe")
}

// usersOf returns by slot, from 1, the fixture that has it.
func usersOf(rig *shows.Show, universe string) (users [dmx.Slots + 1]string) {
	for _, p := range rig.Program.Patch.Placements() {
		if rig.Program.Universes[p.Universe] != universe {
			continue
		}
		for s := p.Address; s < p.Address+p.Profile.Footprint(); s++ {
			users[s] = p.Name
		}
	}
	return users
}

// fits returns an error unless slots from an address on are free.
func fits(users [dmx.Slots + 1]string, universe string, address, slots int) error {
	last := address + slots - 1
	if address < 1 || address > dmx.Slots || last > dmx.Slots {
		return refuse(rigFile, 0, fmt.Sprintf("slots %d to %d of %s", address, last, universe), fmt.Sprintf("a universe has %d", dmx.Slots))
	}
	for s := address; s <= last; s++ {
		if users[s] != "" {
			return refuse(rigFile, 0, fmt.Sprintf("slot %d of %s belongs to %s", s, universe, users[s]), "other slots; without an address the next free ones are taken")
		}
	}
	return nil
}
