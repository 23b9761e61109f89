package draft

import (
	"regexp"
	"strings"

	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/songtext"
)

// Cue is one drafted cue.
type Cue struct {
	At      string // as cues have it: "chorus 1 - 1 beat"
	In      string // the passes of the section: "" for all, "again" or "pass 3"
	Look    string // or "": the look stays
	Effects []string
	Own     bool // the effects are those of the look; none are written
	Fade    string
	Lands   bool   // the fade ends at the place
	Build   string // value of "build", or ""
	Set     []shows.Level
	Reason  string
}

// spot is where a line stands: a place, and the passes of its section that it is for.
type spot = songtext.Place

func (c *Cue) spot() spot { return spot{At: c.At, In: c.In} }

// String is the cue's line without its indent.
func (c *Cue) String() string {
	parts := []string{"at: " + language.Quote(c.At)}
	if c.In != "" {
		parts = append(parts, "in: "+c.In)
	}
	if c.Look != "" {
		parts = append(parts, "look: "+language.Quote(c.Look))
	}
	if !c.Own {
		parts = append(parts, "effects: "+list(c.Effects))
	}
	if c.Fade != "" {
		parts = append(parts, "fade: "+c.Fade)
	}
	if c.Lands {
		parts = append(parts, "lands: yes")
	}
	if c.Build != "" {
		parts = append(parts, "build: "+c.Build)
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
	return songtext.Sealed("- {"+strings.Join(parts, ", ")+"}"+songtext.Mark+c.Reason, "")
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

// declined matches a drafted line that is commented out.
var declined = regexp.MustCompile(`^\s*#+\s*(- \{at: .*)$`)
