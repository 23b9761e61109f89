package draft

import (
	"fmt"
	"hash/fnv"
	"regexp"
	"strings"

	"tactus/shows"
	"tactus/shows/language"
)

// Cue is one drafted cue.
type Cue struct {
	At      string // as cues have it: "chorus 1 - 1 beat"
	Look    string // or "": the look stays
	Effects []string
	Own     bool // the effects are those of the look; none are written
	Fade    string
	Set     []shows.Level
	Reason  string
}

// String is the cue's line without its indent.
func (c *Cue) String() string {
	parts := []string{"at: " + language.Quote(c.At)}
	if c.Look != "" {
		parts = append(parts, "look: "+language.Quote(c.Look))
	}
	if !c.Own {
		parts = append(parts, "effects: "+list(c.Effects))
	}
	if c.Fade != "" {
		parts = append(parts, "fade: "+c.Fade)
	}
	if len(c.Set) > 0 {
		var set []string
		for _, l := range c.Set {
			var words []string
			for _, w := range l.Values {
				words = append(words, w.Key+": "+language.Quote(w.Text))
			}
			set = append(set, language.Quote(l.On)+": {"+strings.Join(words, ", ")+"}")
		}
		parts = append(parts, "set: {"+strings.Join(set, ", ")+"}")
	}
	return sealed("- {"+strings.Join(parts, ", ")+"}"+mark+c.Reason, "")
}

// list writes the value of "effects".
func list(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	quoted := make([]string, len(names))
	for i, n := range names {
		quoted[i] = language.Quote(n)
	}
	if len(names) == 1 {
		return quoted[0]
	}
	return "[" + strings.Join(quoted, ", ") + "]"
}

// mark stands before the reason.
const mark = "  # drafted: "

// sealed adds the check sum to a line. Salt makes equal lines differ.
func sealed(line, salt string) string { return fmt.Sprintf("%s (%s)", line, sum(line+salt)) }

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
	seal     = regexp.MustCompile(`^(.*) \(([a-z2-9]{5})\)$`)
	cueAt    = regexp.MustCompile(`^- \{at: (?:"([^"]*)"|([^,}"]*))[,}].*  # drafted: `)
	declined = regexp.MustCompile(`^\s*#+\s*(- \{at: .*)$`)
)

// untouched reports whether a line, without indent, is as it was drafted.
func untouched(line, salt string) bool {
	m := seal.FindStringSubmatch(line)
	return m != nil && strings.Contains(m[1], mark) && sum(m[1]+salt) == m[2]
}

// place returns the place of a drafted line's cue; ok: it is a drafted line.
func place(line string) (at string, ok bool) {
	m := cueAt.FindStringSubmatch(line)
	if m == nil {
		return "", false
	}
	return m[1] + m[2], true
}
