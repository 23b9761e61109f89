package newrig

import (
	"fmt"
	"net/netip"
	"strings"
)

// ReadDestination understands where the packets of a universe go: "multicast", IPv4
// addresses, or nothing for this computer only. The universe has neither label nor number.
func ReadDestination(text string) (u Universe, err error) {
	switch w := strings.ToLower(strings.TrimSpace(text)); w {
	case "", "this computer", "this computer only", "here", "none":
		return u, nil
	case "multicast":
		u.Multicast = true
		return u, nil
	}
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == ';' }) {
		a, err := netip.ParseAddr(word)
		if err != nil || !a.Is4() {
			return u, fmt.Errorf(`%q is no IPv4 address; want "multicast", addresses such as 10.0.0.7, or "this computer"`, word)
		}
		u.To = append(u.To, a.String())
	}
	return u, nil
}
