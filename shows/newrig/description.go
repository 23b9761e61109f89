package newrig

import (
	"fmt"
	"strings"
)

// Description says what hangs where.
type Description struct {
	Venue     string     `json:"venue"`               // name of the hall, "" for "My Hall"
	Universes []Universe `json:"universes,omitempty"` // those that fixtures name and that are not listed are sACN, to this computer only
	Fixtures  []Fixture  `json:"fixtures"`            // 1 to 4096 rows, of 4096 fixtures in all
	Profiles  []Profile  `json:"profiles,omitempty"`  // that are not built in
}

// Universe says where the packets of a universe go.
type Universe struct {
	Label     string   `json:"label"`               // as fixtures name it: 1, "stage", "A"
	Protocol  string   `json:"protocol,omitempty"`  // "sacn" (default) or "art-net"
	Number    int      `json:"number,omitempty"`    // sACN 1..63999, Art-Net 0..32767; sACN 0: the number in the label, or the next free one
	To        []string `json:"to,omitempty"`        // IPv4 addresses; none: this computer only
	Multicast bool     `json:"multicast,omitempty"` // sACN to all receivers that listen; "to" is then left out
}

// Fixture is a row of fixtures of one kind, on addresses one after another.
type Fixture struct {
	Line     int         `json:"line,omitempty"`     // of the list that it is from, for remarks
	Name     string      `json:"name,omitempty"`     // without its number; "": by the kind of light
	Number   int         `json:"number,omitempty"`   // of the first, as in "wash 5"; 0: none is said
	Count    int         `json:"count,omitempty"`    // 1..512; 0 is 1
	Profile  string      `json:"profile"`            // name of a profile
	Place    string      `json:"place,omitempty"`    // as Places names it, or in words: "front truss", "hall"
	At       *[3]float64 `json:"at,omitempty"`       // metres across, back and up; instead of the place's
	Universe string      `json:"universe,omitempty"` // a label; "": the first with room
	Address  int         `json:"address,omitempty"`  // of the first, 1..512; 0: the first free slots
	Watts    float64     `json:"watts,omitempty"`    // of each at full, 0: not known
}

// Profile is the file of a profile that is not built in.
type Profile struct {
	Name string `json:"name"` // of the file in the folder profiles, without .yaml
	Text string `json:"text"`
}

// Remark is about one row: why it was not understood, or what was assumed.
type Remark struct {
	Line    int    `json:"line,omitempty"`    // of the list, from 1; 0: not of one line
	What    string `json:"what"`              // the offending text, or what it is about
	Reason  string `json:"reason"`            // what is wrong or was assumed, and what would be right
	Nearest string `json:"nearest,omitempty"` // the nearest name that exists
	Fault   bool   `json:"fault,omitempty"`   // the row cannot be used
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
