package newrig

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tactus/protocol/dmx"
)

// universe is a universe with its slots.
type universe struct {
	Universe
	name  string             // as rig.yaml has it
	slots [dmx.Slots + 1]int // by slot from 1: 1 + the index of its row
}

// numbered matches labels that say a number: "1", "universe 2", "sACN 3", "art-net 0".
var numbered = regexp.MustCompile(`^(?:(sacn|e1\.31|art-?net)\s*)?(?:universe\s*|uni\s*|u\s*)?0*([0-9]{1,5})$`)

// number gives each row its universe and its address.
func (r *rig) number(list []Universe) {
	for _, u := range list {
		r.universe(u, 0)
	}
	for i := range r.rows { // labels in the order of the rows
		if w := &r.rows[i]; w.Universe != "" {
			r.universe(Universe{Label: w.Universe}, w.Line)
		}
	}
	for i := range r.rows {
		if w := &r.rows[i]; w.Address > 0 {
			r.place(i)
		}
	}
	for i := range r.rows {
		if r.rows[i].Address == 0 {
			r.findRoom(i)
		}
	}
	r.universes = slices.DeleteFunc(r.universes, func(u universe) bool { return u.slots == [dmx.Slots + 1]int{} })
	slices.SortStableFunc(r.universes, func(a, b universe) int {
		return cmp.Or(cmp.Compare(b.Protocol, a.Protocol), cmp.Compare(a.Number, b.Number))
	})
}

// universe returns the index of a universe by its label, and adds it if it is new. line
// is that of the list that names it, for remarks.
func (r *rig) universe(u Universe, line int) int {
	u.Label = normalLabel(u.Label)
	if i := slices.IndexFunc(r.universes, func(o universe) bool { return o.Label == u.Label }); i >= 0 {
		return i
	}
	said := u.Protocol != ""
	u.Protocol = cmp.Or(u.Protocol, "sacn")
	if m := numbered.FindStringSubmatch(u.Label); m != nil && !said {
		u.Number, _ = strconv.Atoi(m[2])
		if strings.HasPrefix(m[1], "art") {
			u.Protocol, said = "art-net", true
		}
	} else if len(u.Label) == 1 && u.Number == 0 && u.Label >= "a" && u.Label <= "z" {
		u.Number = int(u.Label[0]-'a') + 1
	}
	for r.used(u.Protocol, u.Number) {
		u.Number++
	}
	if least, most := numbersOf(u.Protocol); u.Number < least || u.Number > most {
		r.remarks = append(r.remarks, Remark{Line: line, What: "universe " + u.Label, Reason: fmt.Sprintf("%d is no %s universe, which are %d to %d", u.Number, u.Protocol, least, most), Fault: true})
	}
	if u.Multicast && u.Protocol != "sacn" {
		r.remarks = append(r.remarks, Remark{Line: line, What: "universe " + u.Label, Reason: "only sACN has multicast; give the addresses of its Art-Net nodes", Fault: true})
	}
	name := cleanName(u.Label)
	if name == "" || name == strconv.Itoa(u.Number) {
		name = fmt.Sprintf("universe %d", u.Number)
	}
	for n := 2; slices.ContainsFunc(r.universes, func(o universe) bool { return o.name == name }); n++ {
		name = fmt.Sprintf("universe %d %d", u.Number, n)
	}
	r.universes = append(r.universes, universe{Universe: u, name: name})
	return len(r.universes) - 1
}

// numbersOf returns the lowest and the highest number of a universe: sACN 1..63999
// (E1.31-2018, 6.2.7), Art-Net 0..32767 (15 bits of net, sub-net and universe).
func numbersOf(protocol string) (least, most int) {
	if protocol == "sacn" {
		return 1, 63999
	}
	return 0, 32767
}

// used reports whether a universe has a number already, or it is below the lowest.
func (r *rig) used(protocol string, n int) bool {
	least, _ := numbersOf(protocol)
	return n < least || slices.ContainsFunc(r.universes, func(o universe) bool { return o.Protocol == protocol && o.Number == n })
}

// normalLabel makes labels that mean the same alike: "Universe 01" and "1".
func normalLabel(label string) string {
	l := plainWords(label)
	if m := numbered.FindStringSubmatch(l); m != nil {
		if m[1] == "" {
			return m[2]
		}
		return strings.NewReplacer("artnet", "art-net", "e1.31", "sacn").Replace(m[1]) + " " + m[2]
	}
	return l
}

// place takes the slots that a row asks for.
func (r *rig) place(i int) {
	w := &r.rows[i]
	if w.Universe == "" {
		w.Universe = "1"
	}
	u := &r.universes[r.universe(Universe{Label: w.Universe}, w.Line)]
	last := w.Address + w.slots() - 1
	if last > dmx.Slots {
		r.fault(&w.Fixture, w.names, fmt.Sprintf("takes slots %d to %d of %s, which has %d", w.Address, last, u.name, dmx.Slots), "")
		return
	}
	for s := w.Address; s <= last; s++ {
		if o := u.slots[s]; o > 0 {
			other := &r.rows[o-1]
			r.fault(&w.Fixture, w.names, fmt.Sprintf("takes slots %d to %d of %s, and %s%s has %d to %d", w.Address, last, u.name, other.names, other.where(), other.Address, other.Address+other.slots()-1), "")
			return
		}
	}
	for s := w.Address; s <= last; s++ {
		u.slots[s] = i + 1
	}
	w.Universe = u.name
}

// where says on which line of a list a row is, or nothing.
func (w *row) where() string {
	if w.Line == 0 {
		return ""
	}
	return fmt.Sprintf(" of line %d", w.Line)
}

func (w *row) slots() int { return w.Count * w.profile.Footprint() }

// findRoom gives a row the first free slots of its universe or, if it names none, of the
// first that has room.
func (r *rig) findRoom(i int) {
	w := &r.rows[i]
	if w.Universe != "" {
		if u := &r.universes[r.universe(Universe{Label: w.Universe}, w.Line)]; !r.take(u, i) {
			r.fault(&w.Fixture, w.names, fmt.Sprintf("takes %d slots in a row, and %s has no such gap", w.slots(), u.name), "")
		}
		return
	}
	for k := range r.universes {
		if r.take(&r.universes[k], i) {
			return
		}
	}
	if w.slots() > dmx.Slots {
		r.fault(&w.Fixture, w.names, fmt.Sprintf("%d fixtures of %d slots are more than a universe's %d; make two rows of them", w.Count, w.profile.Footprint(), dmx.Slots), "")
		return
	}
	next := 1
	for r.used("sacn", next) {
		next++
	}
	r.take(&r.universes[r.universe(Universe{Label: strconv.Itoa(next)}, w.Line)], i)
}

// take gives a row the first free run of a universe; false if there is none.
func (r *rig) take(u *universe, i int) bool {
	w, run := &r.rows[i], 0
	for s := 1; s <= dmx.Slots; s++ {
		if run++; u.slots[s] > 0 {
			run = 0
		}
		if run == w.slots() {
			w.Address, w.Universe = s-run+1, u.name
			for k := w.Address; k <= s; k++ {
				u.slots[k] = i + 1
			}
			return true
		}
	}
	return false
}

// UniverseLabels lists the labels of the universes that a description comes to use, in
// order; none if it has faults.
func UniverseLabels(d *Description) (labels []string) {
	r := newRig(d)
	if len(FaultsOf(r.remarks)) > 0 {
		return nil
	}
	for i := range r.universes {
		labels = append(labels, r.universes[i].Label)
	}
	return labels
}
