package newrig

import (
	"slices"
	"strings"
)

// group is a group of rig.yaml.
type group struct {
	name    string
	members []string // fixtures, ranges or groups
	rows    []*row
}

// part is a part of the stage that looks set as one: what is in front of or behind the
// people and shows the same kind of colours.
type part struct {
	target string // a group or fixture
	class  class
	back   bool
	rows   []*row
}

// plot has the groups of a rig and what looks set.
type plot struct {
	*rig
	groups []group
	parts  []part // of the stage: from the front to the back
	all    string // the whole stage
	tinted string // what colour effects move: all that shows every hue or, without that, warm and cool white; "": none
	tints  class  // of these
	movers string // all that pans or tilts; "": none
	fronts string // light on faces that songs leave alone; "": none
	house  string // house lights; "": none
	hazers string // "": none
}

// newPlot groups the rows of a rig: by place, by kind of colour, and by use.
func newPlot(r *rig) *plot {
	p := &plot{rig: r}
	onStage := r.usedAs(stage)
	for _, place := range append(Places(), Place{Name: "stage"}) {
		if rows := slices.DeleteFunc(slices.Clone(onStage), func(w *row) bool { return w.place.Name != place.Name }); len(rows) > 0 {
			p.group(place.Name, rows)
		}
	}
	p.parts = p.stageParts(onStage)
	p.all = p.group("stage lights", onStage)
	for _, c := range []class{hued, tunable} {
		rows := slices.DeleteFunc(slices.Clone(onStage), func(w *row) bool { return w.class != c })
		if name := [numClasses]string{tunable: "warm and cool whites", hued: "colours"}[c]; p.tinted == "" && len(rows) > 0 {
			p.tinted, p.tints = p.group(name, rows), c
		}
	}
	p.movers = p.optional("movers", slices.DeleteFunc(slices.Clone(onStage), func(w *row) bool { return len(w.moves) == 0 }))
	p.fronts = p.optional("fronts", r.usedAs(front))
	p.house = p.optional("house lights", r.usedAs(houseLight))
	p.hazers = p.optional("hazers", r.usedAs(hazer))
	return p
}

// stageParts parts the stage into front and back, if it has both, and by class.
func (p *plot) stageParts(rows []*row) (parts []part) {
	without := func(rows []*row, f func(*row) bool) []*row { return slices.DeleteFunc(slices.Clone(rows), f) }
	halves := [][]*row{without(rows, func(w *row) bool { return w.place.back }), without(rows, func(w *row) bool { return !w.place.back })}
	both := len(halves[0]) > 0 && len(halves[1]) > 0
	for i, half := range halves {
		for k := range numClasses {
			c := numClasses - 1 - k // colours first
			own := without(half, func(w *row) bool { return w.class != c })
			if len(own) == 0 {
				continue
			}
			name := [numClasses]string{"whites", "warm and cool whites", "colours"}[c]
			if both {
				name = [2]string{"front ", "back "}[i] + name
			}
			parts = append(parts, part{target: p.group(name, own), class: c, back: both && i == 1, rows: own})
		}
	}
	return parts
}

// optional is group, or "" without rows.
func (p *plot) optional(name string, rows []*row) string {
	if len(rows) == 0 {
		return ""
	}
	return p.group(name, rows)
}

// group returns the name of a group of rows, and adds the group if none has just these.
// A fixture that has the name, and is the only one, needs no group.
func (p *plot) group(name string, rows []*row) string {
	for _, g := range p.groups {
		if slices.Equal(g.rows, rows) {
			return g.name
		}
	}
	if len(rows) == 1 && (rows[0].names == name || rows[0].use == hazer) {
		return rows[0].names
	}
	for p.taken[name] || slices.ContainsFunc(p.groups, func(g group) bool { return g.name == name }) {
		name = "all " + name
	}
	p.groups = append(p.groups, group{name: name, members: p.members(rows), rows: rows})
	return name
}

// members names rows by the groups that hold them, as far as some do, and by their own
// names.
func (p *plot) members(rows []*row) (names []string) {
	left := slices.Clone(rows)
	for _, g := range p.groups {
		if len(g.rows) < 2 && len(rows) < 3 {
			continue
		}
		if !slices.ContainsFunc(g.rows, func(w *row) bool { return !slices.Contains(left, w) }) {
			names = append(names, g.name)
			left = slices.DeleteFunc(left, func(w *row) bool { return slices.Contains(g.rows, w) })
		}
	}
	for _, w := range left {
		names = append(names, w.names)
	}
	return names
}

// heads returns how many heads some rows have.
func heads(rows []*row) (n int) {
	for _, w := range rows {
		n += w.Count * w.profile.Heads
	}
	return n
}

// listed writes names as YAML: one alone, or a list.
func listed(names []string) string {
	quoted := make([]string, len(names))
	for i := range names {
		quoted[i] = quote(names[i])
	}
	if len(quoted) == 1 {
		return quoted[0]
	}
	return "[" + strings.Join(quoted, ", ") + "]"
}
