package paper

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"tactus/shows"
)

// PatchRow is a fixture in the patch table.
type PatchRow struct {
	Universe    string // its name
	Wire        string // its protocol and number: "sACN 1", "Art-Net 0.0.1", "virtual"
	First, Last int    // slots of the universe
	Name        string
	Profile     string
	Groups      string
}

// PatchRows lists the patch in the order of universes and addresses.
func PatchRows(s *shows.Show) []PatchRow {
	p := s.Program
	order := make([]int, len(p.Patch.Placements()))
	for i := range order {
		order[i] = i
	}
	at := func(i int) int {
		f := p.Patch.Placements()[i]
		return f.Universe*1024 + f.Address
	}
	slices.SortStableFunc(order, func(a, b int) int { return at(a) - at(b) })
	var list []PatchRow
	for _, i := range order {
		f := p.Patch.Placements()[i]
		list = append(list, PatchRow{
			Universe: p.Universes[f.Universe], Wire: s.Outputs.Universes[f.Universe].Wire(), First: f.Address, Last: f.Address + f.Profile.Footprint() - 1,
			Name: f.Name, Profile: f.Profile.Name, Groups: strings.Join(s.GroupsOf(i), ", "),
		})
	}
	return list
}

// PrintPatch prints the patch. Below it, it lists the free slots, the addresses of
// Art-Net universes, and the universes that have no fixtures or are virtual.
func PrintPatch(out io.Writer, s *shows.Show) {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "universe\tsent as\tslots\tfixture\tprofile\tgroups")
	used := map[string]bool{}
	for _, r := range PatchRows(s) {
		used[r.Universe] = true
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", r.Universe, r.Wire, span(r.First, r.Last), r.Name, r.Profile, r.Groups)
	}
	w.Flush()
	for _, f := range shows.FreeSlots(s.Program.Patch) {
		fmt.Fprintf(out, "free on %s: %s\n", s.Outputs.Universes[f.Universe].Label(), span(f.First, f.Last))
	}
	for _, u := range s.Outputs.Universes {
		if u.Protocol == shows.ArtNet {
			fmt.Fprintf(out, "%s is Art-Net port address %d: net %d, sub-net %d, universe %d\n", u.Name, u.Number, u.Number>>8, u.Number>>4&15, u.Number&15)
		}
		if !used[u.Name] {
			fmt.Fprintf(out, "no fixtures on %s\n", u.Label())
		} else if u.Protocol == shows.Virtual {
			fmt.Fprintf(out, "%s is virtual: nothing leaves this computer for it\n", u.Name)
		}
	}
}

func span(first, last int) string {
	if first == last {
		return fmt.Sprint(first)
	}
	return fmt.Sprintf("%d-%d", first, last)
}

// Switches returns which of nine address switches are on: the first counts 1, the
// last 256. ok is false for addresses outside 1..511; 512 needs a tenth switch. Common
// practice, no source.
func Switches(address int) (on [9]bool, ok bool) {
	for i := range on {
		on[i] = address&(1<<i) != 0
	}
	return on, address >= 1 && address <= 511
}

// dipSwitches prints the numbers of the switches that are on: "1-3------".
func dipSwitches(address int) string {
	on, ok := Switches(address)
	if !ok {
		return "not with 9"
	}
	var b strings.Builder
	for i, up := range on {
		if up {
			fmt.Fprint(&b, i+1)
		} else {
			b.WriteByte('-')
		}
	}
	return b.String()
}

const (
	dipHelp = "Switches: the numbers shown are on, a dash is off. They are worth 1, 2, 4, 8, 16, 32, 64, 128 and 256. " +
		"Some makers number them the other way round, count addresses from 0, or use the tenth switch for something else: see the manual."
	rigging = "Hang, secure and power fixtures as your hall, their makers and local rules ask."
)

// PatchBook returns a book with only the patch: addresses, switch settings and boxes
// to tick.
func PatchBook(s *shows.Show) *Book {
	return &Book{Show: s.Program.Name, Venue: s.Venue, Sheets: []Leaf{patchSheet(s)}}
}
