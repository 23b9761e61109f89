package watch

import (
	"fmt"

	"tactus/protocol/sacn"
)

// controlKey names the stream of a source.
type controlKey struct {
	universe uint16
	cid      [16]byte
}

// control is the part that a source plays for receivers that merge by E1.31-2018, 6.2.3.
type control struct {
	role sacn.Role
	why  string
}

// controls returns the part of each source of sACN that is followed.
func controls(m *sacn.Merger) map[controlKey]control {
	list := m.Controls() // by universe, highest priority first
	out := map[controlKey]control{}
	for i := range list {
		c := &list[i]
		u := m.Universe(c.Universe)
		out[controlKey{c.Universe, c.CID}] = control{c.Role, whyControl(c, u, list)}
	}
	return out
}

// whyControl says why a source has its role.
func whyControl(c *sacn.Control, u *sacn.Merged, list []sacn.Control) string {
	others := 0
	var winner string
	for i := range list {
		o := &list[i]
		if o.Universe != c.Universe || o.CID == c.CID {
			continue
		}
		switch o.Role {
		case sacn.Overruled:
			others++
		case sacn.InControl, sacn.Shares:
			if winner == "" {
				winner = fmt.Sprintf("%q", printable(o.Name.String()))
			}
		}
	}
	switch c.Role {
	case sacn.InControl:
		if others == 0 {
			return "the only source"
		}
		return fmt.Sprintf("priority %d is the highest of %d sources", c.Priority, others+1)
	case sacn.Shares:
		return fmt.Sprintf("%d sources have priority %d; the highest level of each slot counts", u.Sources, u.Priority)
	case sacn.Overruled:
		return fmt.Sprintf("%s has priority %d", winner, u.Priority)
	}
	return ""
}
