package sacn

import (
	"bytes"
	"strings"
	"unicode/utf8"
)

// SourceName is the user's name of a source as a packet has it: UTF-8 of at most 63
// octets, ended and filled with zeros (6.2.2).
type SourceName [64]byte

// NewSourceName cuts s to 63 octets, at the start of a character and before the
// first zero octet.
func NewSourceName(s string) SourceName {
	if i := strings.IndexByte(s, 0); i >= 0 {
		s = s[:i]
	}
	s = strings.ToValidUTF8(s, "\uFFFD")
	n := min(len(s), len(SourceName{})-1)
	for n < len(s) && n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	var name SourceName
	copy(name[:], s[:n])
	return name
}

// String returns the name up to the first zero. It replaces octets that are not
// UTF-8, because the name comes from the network and is shown to people.
func (n SourceName) String() string {
	b := n[:]
	if i := bytes.IndexByte(b, 0); i >= 0 {
		b = b[:i]
	}
	return strings.ToValidUTF8(string(b), "\uFFFD")
}
