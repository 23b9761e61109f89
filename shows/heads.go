package shows

import (
	"fmt"
	"regexp"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
)

// headNames finds heads by name: groups, fixtures, ranges of fixtures, single heads.
type headNames struct {
	c     *compiler
	heads map[string][]int32
	names []string // in the order of the rig, for messages
	list  string   // the names as messages list them, made once
	group map[string]*language.Value
	busy  map[string]bool // groups being resolved
	named int             // heads returned so far, to bound them
}

// maxNamed bounds the heads that a small file with nested groups can name.
const maxNamed = 4 << 20

func newHeadNames(c *compiler) *headNames {
	return &headNames{c: c, heads: map[string][]int32{}, group: map[string]*language.Value{}, busy: map[string]bool{}}
}

// fixture adds a fixture and its heads.
func (h *headNames) fixture(name string, heads int, index int32, at []engine.Point) {
	h.names = append(h.names, name)
	for i := range heads {
		n := int32(len(h.c.program.Heads))
		head := engine.Head{Name: name, Fixture: index, At: at[i]}
		if heads > 1 {
			head.Name = headName(name, i+1)
			h.heads[head.Name] = []int32{n}
		}
		h.c.program.Heads = append(h.c.program.Heads, head)
		h.heads[name] = append(h.heads[name], n)
	}
}

// headName names a head of a fixture that has several, by its number from 1.
func headName(fixture string, number int) string { return fmt.Sprintf("%s head %d", fixture, number) }

// oldHeadName matches names of heads in older files: bar 1.2.
var oldHeadName = regexp.MustCompile(`^(.+)\.([0-9]+)$`)

// groups resolves the groups. They may name one another in any order.
func (h *headNames) groups(v *language.Value) {
	var names []string
	for _, e := range v.All() {
		if h.heads[e.Key.Text] != nil {
			h.c.At(e.Key, fmt.Sprintf("there is a fixture %q already", e.Key.Text), "give the group another name", "")
			continue
		}
		if fixtures, fault := expandName(e.Key.Text); fault != "" || len(fixtures) > 1 {
			h.c.At(e.Key, fmt.Sprintf("%q reads as a range of fixtures", e.Key.Text), "give the group another name", "")
			continue
		}
		h.group[e.Key.Text] = e.Value
		names = append(names, e.Key.Text)
	}
	h.names = append(names, h.names...)
	for _, name := range names {
		h.resolve(name)
	}
}

// resolve returns the heads of a group, each once, in the order it names them.
func (h *headNames) resolve(name string) []int32 {
	if heads, ok := h.heads[name]; ok {
		return heads
	}
	h.busy[name] = true
	heads := h.targets(h.group[name])
	h.busy[name] = false
	h.heads[name] = heads
	return heads
}

// targets returns the heads of one or more names, each once.
func (h *headNames) targets(v *language.Value) []int32 {
	var all []int32
	seen := map[int32]bool{}
	for _, item := range v.Items() {
		for _, n := range h.find(item) {
			if !seen[n] {
				seen[n] = true
				all = append(all, n)
			}
		}
	}
	if h.named += len(all); h.named > maxNamed && h.named-len(all) <= maxNamed {
		h.c.At(v, fmt.Sprintf("groups and looks name heads more than %d times", maxNamed), "", "")
	}
	return all
}

// find returns the heads of one name.
func (h *headNames) find(v *language.Value) []int32 {
	name := v.Word()
	if h.named > maxNamed || h.c.rig.Get("fixtures") == nil {
		return nil // said already
	}
	if h.busy[name] {
		h.c.At(v, fmt.Sprintf("group %q holds itself", name), "", "")
		return nil
	}
	if _, ok := h.group[name]; ok {
		return h.resolve(name)
	}
	if heads, ok := h.heads[name]; ok {
		return heads
	}
	names, fault := expandName(name)
	if fault != "" {
		h.c.At(v, fault, "a range such as wash 1-8", "")
		return nil
	}
	var all []int32
	for _, n := range names {
		heads, ok := h.heads[n]
		if !ok && h.c.rig.Broken("groups") {
			continue // it may be one of them
		}
		if old := oldHeadName.FindStringSubmatch(n); !ok && old != nil && h.heads[old[1]+" head "+old[2]] != nil {
			name := old[1] + " head " + old[2]
			h.c.At(v, fmt.Sprintf("%q is an old name of a head", n), fmt.Sprintf("write %q", name), "")
			continue
		}
		if !ok {
			h.c.UnknownAt(v, fmt.Sprintf("no group or fixture %q", language.Shorten(n)), h.choices(), language.Nearest(n, h.names))
			continue
		}
		all = append(all, heads...)
	}
	return all
}

// choices lists all groups and fixtures, for a message.
func (h *headNames) choices() string {
	if h.list == "" {
		h.list = language.Listed("they are", language.Ranges(h.names))
	}
	return h.list
}

// anyHeadHas reports whether any of the heads can do it.
func (c *compiler) anyHeadHas(heads []int32, param fixtures.Param) bool {
	for _, h := range heads {
		p := c.placements[c.program.Heads[h].Fixture].Profile
		if p == nil || p.Has(param) || param == fixtures.Red && p.Coloured() {
			return true
		}
		if param == fixtures.Intensity && p.GivesLight() {
			return true // a virtual dimmer
		}
	}
	return false
}
