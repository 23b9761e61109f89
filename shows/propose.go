package shows

import (
	"errors"
	"fmt"
	"slices"

	"tactus/fixtures"
	"tactus/protocol/dmx"
	"tactus/shows/language"
)

// Proposal is a start address for fixtures that have none.
type Proposal struct {
	Line     int    // of the rig file
	Fixture  string // as the file names it: "wash 1-4"
	Universe string
	Address  int // of the first
	Last     int // slot of the last
}

// ErrNoRoom is wrapped by the reason why a fixture gets no address.
var ErrNoRoom = errors.New("no free address")

// Propose finds the first free slots for each fixture of a rig file without an
// address, in file order. A file with other faults gives problems and no proposals.
func Propose(src []byte) ([]Proposal, language.Problems, error) {
	file, problems := language.Parse("rig.yaml", src)
	problems = slices.DeleteFunc(problems, func(p language.Problem) bool { return p.What == `"address" is missing` })
	if len(problems) > 0 {
		return nil, problems, nil
	}
	c := &compiler{loader: new(Loader), rig: file.Root}
	profiles := c.compileProfiles(file.Root.Get("profiles"))
	if len(c.List) > 0 {
		return nil, c.List.Sorted(), nil
	}
	taken := map[string]*[dmx.Slots + 1]bool{}
	for _, e := range file.Root.Get("universes").All() {
		taken[e.Key.Text] = new([dmx.Slots + 1]bool)
	}
	var open []language.Entry
	for _, e := range file.Root.Get("fixtures").All() {
		names, fault := expandName(e.Key.Text)
		profile, slots := profiles[e.Value.Get("profile").Word()], taken[e.Value.Get("universe").Word()]
		if fault != "" || profile == nil || slots == nil {
			return nil, nil, fmt.Errorf("line %d: %s: unknown profile or universe, or a name that does not count; 'tactus check' says more", e.Key.Line, e.Key.Text)
		}
		if e.Value.Get("address") == nil {
			open = append(open, e)
			continue
		}
		at, step := int(e.Value.Get("address").Number), stepOf(e.Value, profile)
		for i := range names {
			for s := at + i*step; s < at+i*step+profile.Footprint() && s <= dmx.Slots; s++ {
				slots[s] = true
			}
		}
	}
	return proposeAddresses(open, profiles, taken)
}

func stepOf(v *language.Value, p *fixtures.Profile) int {
	return max(int(v.Get("every").Num(0)), p.Footprint())
}

// proposeAddresses places each fixture in the first run of free slots that is long enough.
func proposeAddresses(open []language.Entry, profiles map[string]*fixtures.Profile, taken map[string]*[dmx.Slots + 1]bool) ([]Proposal, language.Problems, error) {
	var list []Proposal
	for _, e := range open {
		names, _ := expandName(e.Key.Text)
		p := profiles[e.Value.Get("profile").Word()]
		universe := e.Value.Get("universe").Word()
		slots := taken[universe]
		length := stepOf(e.Value, p)*(len(names)-1) + p.Footprint()
		at := FirstFreeRun(slots, length)
		if at == 0 {
			return nil, nil, fmt.Errorf("%w: line %d: %s takes %d slots in a row, and %s has no such gap", ErrNoRoom, e.Key.Line, e.Key.Text, length, universe)
		}
		for s := at; s < at+length; s++ {
			slots[s] = true
		}
		list = append(list, Proposal{Line: e.Key.Line, Fixture: e.Key.Text, Universe: universe, Address: at, Last: at + length - 1})
	}
	return list, nil, nil
}

// FirstFreeRun returns the first slot, from 1, of the first free run of a length, or 0. slots marks
// those that are taken, by their number.
func FirstFreeRun(slots *[dmx.Slots + 1]bool, length int) int {
	free := 0
	for s := 1; s <= dmx.Slots; s++ {
		if free++; slots[s] {
			free = 0
		}
		if free == length {
			return s - length + 1
		}
	}
	return 0
}
