package plan

import (
	"slices"

	"tactus/clock"
	"tactus/shows/position"
)

// Severity says how bad a finding is.
type Severity uint8

// The severities.
const (
	Hint    Severity = iota // worth a thought
	Warning                 // the light does not do what the files say they want
	Error                   // it can hurt people
)

// String names the severity.
func (s Severity) String() string { return [...]string{"hint", "warning", "error"}[min(s, Error)] }

// MarshalText implements [encoding.TextMarshaler].
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Kind names what was found, as "accepted" in a song's file names it.
type Kind string

// The kinds of finding.
const (
	DoesNotFollow Kind = "does-not-follow" // brightness and movement go another way than energy
	Inversion     Kind = "inversion"       // a quieter section is stronger than a louder one
	Flat          Kind = "flat"            // all sections look alike, though they should not
	TooBusy       Kind = "too-busy"        // a quiet section moves like a loud one
	DarkGap       Kind = "dark-gap"        // dark that no cue asks for, or that goes on
	OffPalette    Kind = "off-palette"     // colours that the palette does not have
	NeverFires    Kind = "never-fires"     // a cue that nothing brings about
	LongFade      Kind = "long-fade"       // a fade that its section is over before
	FacesDark     Kind = "faces-dark"      // someone speaks in the dark
	EmptyNote     Kind = "empty-note"      // a note that does nothing
	Flashing      Kind = "flashing"        // more flashes than is safe
	Idle          Kind = "accepted-idle"   // an "accepted" that silences nothing
)

// Finding is one thing that somebody should look at.
type Finding struct {
	Kind       Kind       `json:"finding"`
	Severity   Severity   `json:"severity"`
	Song       string     `json:"song,omitempty"` // its name; "": of the whole show
	Place      string     `json:"place,omitempty"`
	Beat       clock.Beat `json:"-"`                 // from the song's first downbeat
	Until      clock.Beat `json:"-"`                 // where it is over; Beat where it is a moment
	Written    string     `json:"written,omitempty"` // file and line, where known
	Reason     string     `json:"reason"`
	Suggestion string     `json:"suggestion"`
	Accepted   string     `json:"accepted,omitempty"` // the reason the song's file gives for leaving it
}

// Open returns the findings that nobody has accepted, of one severity or worse.
func Open(list []Finding, least Severity) (out []Finding) {
	for _, f := range list {
		if f.Accepted == "" && f.Severity >= least {
			out = append(out, f)
		}
	}
	return out
}

// find adds a finding about a place in the song.
func (j *judge) find(k Kind, s Severity, at, until clock.Beat, reason, suggestion string) {
	j.found = append(j.found, Finding{
		Kind: k, Severity: s, Song: j.plan.Name, Place: position.Name(j.plan, at), Beat: at, Until: until,
		Written: j.written(at), Reason: reason, Suggestion: suggestion,
	})
}

// written returns where the cue in force at a place is written, or the song.
func (j *judge) written(at clock.Beat) string {
	where := ""
	if i := int(j.song.Index); i < len(j.night.Show.Files) {
		where = j.night.Show.Files[i]
	}
	for i := range j.plan.Cues {
		if c := &j.plan.Cues[i]; c.At <= at && c.Source != "" {
			where = c.Source
		}
	}
	return where
}

// accept silences what the song's file accepts, and finds what silences nothing.
func (j *judge) accept() {
	for _, a := range j.night.Show.Accepted {
		if a.Song != j.song.Index {
			continue
		}
		used := false
		for i := range j.found {
			f := &j.found[i]
			if string(f.Kind) == a.Finding && (a.Section < 0 || a.Section == j.sectionAt(f.Beat)) {
				f.Accepted, used = a.Because, true
			}
		}
		if !used {
			j.found = append(j.found, Finding{
				Kind: Idle, Severity: Hint, Song: j.plan.Name, Written: a.Written,
				Reason: a.Finding + " is accepted, and was not found", Suggestion: "take the line away",
			})
		}
	}
	slices.SortStableFunc(j.found, func(a, b Finding) int {
		if d := int(b.Severity) - int(a.Severity); d != 0 {
			return d
		}
		return int(max(-1, min(1, a.Beat-b.Beat)))
	})
}
