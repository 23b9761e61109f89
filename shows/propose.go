package shows

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Proposal is a start address for fixtures that have none.
type Proposal struct {
	Line     int    // of the rig file
	Fixture  string // as the file names it: "wash 1-4"
	Universe string
	Address  int // of the first
	Last     int // slot of the last

	key *value // the first key of the fixture, where the address goes in
	row bool   // keys stand in one line, between braces
}

// ErrNoRoom is wrapped by the reason why a fixture gets no address.
var ErrNoRoom = errors.New("no free address")

// Propose finds the first free slots on its universe for each fixture of a rig
// file without an address, in file order. Faults besides missing addresses come
// back as problems, and nothing is proposed.
func Propose(src []byte) ([]Proposal, Problems, error) {
	file, problems := Parse("rig.yaml", src)
	problems = slices.DeleteFunc(problems, func(p Problem) bool { return p.What == `"address" is missing` })
	if len(problems) > 0 {
		return nil, problems, nil
	}
	c := &compiler{rig: file.root}
	profiles := c.compileProfiles(file.root.get("profiles"))
	if len(c.list) > 0 {
		return nil, c.list.sorted(), nil
	}
	taken := map[string]*[dmx.Slots + 1]bool{}
	for _, e := range file.root.get("universes").all() {
		taken[e.key.text] = new([dmx.Slots + 1]bool)
	}
	var open []entry
	for _, e := range file.root.get("fixtures").all() {
		names, fault := spell(e.key.text)
		profile, slots := profiles[e.value.get("profile").word()], taken[e.value.get("universe").word()]
		if fault != "" || profile == nil || slots == nil {
			return nil, nil, fmt.Errorf("line %d: %s: unknown profile or universe, or a name that does not count; 'tactus check' says more", e.key.line, e.key.text)
		}
		if e.value.get("address") == nil {
			open = append(open, e)
			continue
		}
		at, step := int(e.value.get("address").number), stepOf(e.value, profile)
		for i := range names {
			for s := at + i*step; s < at+i*step+profile.Footprint() && s <= dmx.Slots; s++ {
				slots[s] = true
			}
		}
	}
	return fill(open, profiles, taken)
}

func stepOf(v *value, p *fixtures.Profile) int {
	return max(int(v.get("every").num(0)), p.Footprint())
}

// fill places the fixtures that are left, each in the first run that holds it.
func fill(open []entry, profiles map[string]*fixtures.Profile, taken map[string]*[dmx.Slots + 1]bool) ([]Proposal, Problems, error) {
	var list []Proposal
	for _, e := range open {
		names, _ := spell(e.key.text)
		p := profiles[e.value.get("profile").word()]
		universe := e.value.get("universe").word()
		slots := taken[universe]
		length := stepOf(e.value, p)*(len(names)-1) + p.Footprint()
		at := run(slots, length)
		if at == 0 {
			return nil, nil, fmt.Errorf("%w: line %d: %s takes %d slots in a row, and %s has no such gap", ErrNoRoom, e.key.line, e.key.text, length, universe)
		}
		for s := at; s < at+length; s++ {
			slots[s] = true
		}
		first := e.value.entries[0].key
		list = append(list, Proposal{
			Line: e.key.line, Fixture: e.key.text, Universe: universe, Address: at, Last: at + length - 1,
			key: first, row: first.line != e.value.line || first.column != e.value.column,
		})
	}
	return list, nil, nil
}

// run returns the first slot of the first free run of a length, or 0.
func run(slots *[dmx.Slots + 1]bool, length int) int {
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

// Write returns the rig file with the proposed addresses in it. Nothing else of
// the text changes: comments, order and blanks stay.
func Write(src []byte, list []Proposal) ([]byte, error) {
	lines := strings.SplitAfter(string(src), "\n")
	for _, p := range slices.Backward(list) { // from below, so that places above stay
		line := []rune(lines[p.key.line-1])
		before, after := string(line[:p.key.column-1]), string(line[p.key.column-1:])
		between := ", "
		if !p.row {
			between = "\n" + strings.Repeat(" ", p.key.column-1)
			if strings.HasSuffix(lines[p.key.line-1], "\r\n") {
				between = "\r" + between
			}
		}
		lines[p.key.line-1] = fmt.Sprintf("%saddress: %d%s%s", before, p.Address, between, after)
	}
	out := []byte(strings.Join(lines, ""))
	if left, problems, err := Propose(out); err != nil || len(problems) > 0 || len(left) > 0 {
		return nil, errors.New("the addresses cannot be put into this file without changing more of it; type them in")
	}
	return out, nil
}
