package songtext

import (
	"fmt"
	"hash/fnv"
	"regexp"
	"strings"

	"tactus/shows/language"
)

// Mark stands before the reason of a drafted line.
const Mark = "  # drafted: "

// Sealed adds a check sum to a line. Salt makes equal lines differ.
func Sealed(line, salt string) string { return fmt.Sprintf("%s (%s)", line, sum(line+salt)) }

// sum is a check sum of five letters: one edit in 33 million keeps it.
func sum(text string) string {
	const letters = "abcdefghijkmnpqrstuvwxyz23456789"
	h := fnv.New64a()
	h.Write([]byte(text))
	n := h.Sum64()
	n ^= n >> 32
	var word [5]byte
	for i := range word {
		word[i] = letters[n%32]
		n /= 32
	}
	return string(word[:])
}

var (
	seal  = regexp.MustCompile(`^(.*) \(([a-z2-9]{5})\)$`)
	cueAt = regexp.MustCompile(`^- \{at: (?:"([^"]*)"|([^,}"]*))(?:, in: ([a-z0-9 ]+))?[,}].*  # drafted: `)
)

// Unsealed returns a line without its check sum, and the sum.
func Unsealed(line string) (without, sum string, ok bool) {
	m := seal.FindStringSubmatch(line)
	if m == nil {
		return "", "", false
	}
	return m[1], m[2], true
}

// Untouched reports whether a line, without indent, is as it was drafted.
func Untouched(line, salt string) bool {
	without, have, ok := Unsealed(line)
	return ok && strings.Contains(without, Mark) && sum(without+salt) == have
}

// Place is where a drafted line's cue is.
type Place struct {
	At string // as cues have it
	In string // the passes of its section: "" for all, "again" or "pass 3"
}

// PlaceOf returns the place of a drafted line's cue; ok: it is a drafted line.
func PlaceOf(line string) (at Place, ok bool) {
	m := cueAt.FindStringSubmatch(line)
	if m == nil {
		return Place{}, false
	}
	return Place{m[1] + m[2], m[3]}, true
}

// Moved returns a drafted line for another place. ok is false if the line, without
// indent, is not one that nobody has changed.
func Moved(line, at string) (moved string, ok bool) {
	m := cueAt.FindStringSubmatchIndex(line)
	if m == nil || !Untouched(line, "") {
		return "", false
	}
	without, _, _ := Unsealed(line)
	from, to := m[4], m[5]
	if m[2] >= 0 {
		from, to = m[2]-1, m[3]+1 // the quotes too
	}
	return Sealed(without[:from]+language.Quote(at)+without[to:], ""), true
}
