package paper

import (
	"fmt"
	"html"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"tactus/shows"
)

// Row is a fixture of the patch.
type Row struct {
	Universe    string
	First, Last int // slots
	Name        string
	Profile     string
	Groups      string
}

// Rows lists the patch in the order of universes and addresses.
func Rows(s *shows.Show) []Row {
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
	var list []Row
	for _, i := range order {
		f := p.Patch.Placements()[i]
		list = append(list, Row{
			Universe: p.Universes[f.Universe], First: f.Address, Last: f.Address + f.Profile.Footprint() - 1,
			Name: f.Name, Profile: f.Profile.Name, Groups: strings.Join(s.GroupsOf(i), ", "),
		})
	}
	return list
}

// Table prints the patch, and free slots and universes without fixtures below
// it for information.
func Table(out io.Writer, s *shows.Show) {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "universe\tslots\tfixture\tprofile\tgroups")
	used := map[string]bool{}
	for _, r := range Rows(s) {
		used[r.Universe] = true
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", r.Universe, span(r.First, r.Last), r.Name, r.Profile, r.Groups)
	}
	w.Flush()
	for _, f := range shows.Gaps(s.Program.Patch) {
		fmt.Fprintf(out, "free on %s: %s\n", s.Program.Universes[f.Universe], span(f.First, f.Last))
	}
	for _, u := range s.Outputs.Universes {
		if !used[u.Name] {
			fmt.Fprintf(out, "no fixtures on %s\n", u.Name)
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

// Switches returns the setting of nine address switches, the first worth 1 and
// the last 256; up is on. Address 512 needs a tenth: ok is false. Common
// practice, no source.
func Switches(address int) (on [9]bool, ok bool) {
	for i := range on {
		on[i] = address&(1<<i) != 0
	}
	return on, address >= 1 && address <= 511
}

// dip prints switches as "1·3······": the numbers of those that are on.
func dip(address int) string {
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

// Sheet prints the patch for people with a ladder, as plain text: an address,
// its switches, and a box to tick.
func Sheet(out io.Writer, s *shows.Show) {
	fmt.Fprintf(out, "%s, %s: patch sheet\n\n", s.Program.Name, s.Venue)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "done\tuniverse\taddress\tswitches\tfixture\tprofile\tslots")
	for _, r := range Rows(s) {
		fmt.Fprintf(w, "[ ]\t%s\t%d\t%s\t%s\t%s\t%d\n", r.Universe, r.First, dip(r.First), r.Name, r.Profile, r.Last-r.First+1)
	}
	w.Flush()
	fmt.Fprintf(out, "\n%s\n%s\n", dipHelp, rigging)
}

// SheetHTML is the sheet as one page without scripts or links: black on white,
// large enough to read at arm's length in the half dark.
func SheetHTML(out io.Writer, s *shows.Show) {
	title := html.EscapeString(s.Program.Name + ", " + s.Venue + ": patch sheet")
	fmt.Fprintf(out, `<!DOCTYPE html>
<html lang="en"><meta charset="utf-8"><title>%s</title>
<style>
body{font:14pt sans-serif;color:#000;background:#fff;margin:1em}
table{border-collapse:collapse}th,td{border:1px solid #000;padding:.2em .5em;text-align:left}
tr{break-inside:avoid}thead{display:table-header-group}
.dip{font-family:monospace;white-space:nowrap}.address{font-weight:bold;text-align:right}
</style>
<h1>%[1]s</h1>
<table><thead><tr><th>done<th>universe<th>address<th>switches<th>fixture<th>profile<th>slots</thead>
`, title)
	for _, r := range Rows(s) {
		fmt.Fprintf(out, "<tr><td>&#9744;<td>%s<td class=address>%d<td class=dip>%s<td>%s<td>%s<td>%d\n",
			html.EscapeString(r.Universe), r.First, dip(r.First), html.EscapeString(r.Name), html.EscapeString(r.Profile), r.Last-r.First+1)
	}
	fmt.Fprintf(out, "</table>\n<p>%s<p>%s\n</html>\n", html.EscapeString(dipHelp), html.EscapeString(rigging))
}
