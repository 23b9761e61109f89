package newrig

import (
	"fmt"
	"strings"
)

// Description says what hangs where.
type Description struct {
	Venue     string     // name of the hall, "" for "My Hall"
	Universes []Universe // those that fixtures name and that are not listed are sACN, to this computer only
	Fixtures  []Fixture  // 1 to 4096 rows, of 4096 fixtures in all
	Profiles  []Profile  // that are not built in
}

// Universe says where the packets of a universe go.
type Universe struct {
	Label     string   // as fixtures name it: 1, "stage", "A"
	Protocol  string   // "sacn" (default) or "art-net"
	Number    int      // sACN 1..63999, Art-Net 0..32767; sACN 0: the number in the label, or the next free one
	To        []string // IPv4 addresses; none: this computer only
	Multicast bool     // sACN to all receivers that listen; "to" is then left out
}

// Fixture is a row of fixtures of one kind, on addresses one after another.
type Fixture struct {
	Line     int         // of the list that it is from, for remarks
	Name     string      // without its number; "": by the kind of light
	Number   int         // of the first, as in "wash 5"; 0: none is said
	Count    int         // 1..512; 0 is 1
	Profile  string      // name of a profile
	Place    string      // as Places names it, or in words: "front truss", "hall"
	At       *[3]float64 // metres across, back and up; instead of the place's
	Universe string      // a label; "": the first with room
	Address  int         // of the first, 1..512; 0: the first free slots
	Watts    float64     // of each at full, 0: not known
}

// Profile is the file of a profile that is not built in.
type Profile struct {
	Name string // of the file in the folder profiles, without .yaml
	Text string
}

// Remark is about one row: why it was not understood, or what was assumed.
type Remark struct {
	Line    int    // of the list, from 1; 0: not of one line
	What    string // the offending text, or what it is about
	Reason  string // what is wrong or was assumed, and what would be right
	Nearest string // the nearest name that exists
	Fault   bool   // the row cannot be used
}

// String is the remark as a line of text.
func (r Remark) String() string {
	var b strings.Builder
	if r.Line > 0 {
		fmt.Fprintf(&b, "line %d: ", r.Line)
	}
	if r.What != "" {
		fmt.Fprintf(&b, "%s: ", r.What)
	}
	b.WriteString(r.Reason)
	if r.Nearest != "" {
		fmt.Fprintf(&b, "; the nearest is %q", r.Nearest)
	}
	return b.String()
}

// Faults are the remarks about rows that cannot be used, as an error.
type Faults []Remark

// Error lists them, a line each.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i := range f {
		lines[i] = f[i].String()
	}
	return strings.Join(lines, "\n")
}

// FaultsOf returns the remarks that are faults.
func FaultsOf(list []Remark) (faults Faults) {
	for _, r := range list {
		if r.Fault {
			faults = append(faults, r)
		}
	}
	return faults
}
