package plan

import (
	"cmp"
	"slices"

	"tactus/clock"
	"tactus/shows"
	"tactus/shows/position"
)

// Severity says how bad a finding is.
type Severity uint8

// The severities.
const (
	Hint    Severity = iota // worth a look
	Warning                 // the light differs from what the files ask for
	Error                   // the light can hurt people
)

// String names the severity.
func (s Severity) String() string { return [...]string{"hint", "warning", "error"}[min(s, Error)] }

// MarshalText implements [encoding.TextMarshaler].
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Kind names what was found, as "accepted" in a song's file names it.
type Kind string

// The kinds of finding.
const (
	DoesNotFollow Kind = "does-not-follow" // strength does not rise and fall with energy
	Inversion     Kind = "inversion"       // a section is stronger than one of a higher energy
	Flat          Kind = "flat"            // energies differ, and all sections look alike
	DimPeak       Kind = "dim-peak"        // the song's highest energy is darker than a lower one
	Alike         Kind = "alike"           // neighbouring sections look the same
	TooBusy       Kind = "too-busy"        // a quiet section has the motion of a loud one
	DarkGap       Kind = "dark-gap"        // the stage is dark and no cue asks for it, or for too long
	OffPalette    Kind = "off-palette"     // colours that the palette does not have
	NeverFires    Kind = "never-fires"     // a section or cue that no note or command can reach
	LongFade      Kind = "long-fade"       // a fade that is not over when its section is
	FacesDark     Kind = "faces-dark"      // someone speaks and the front light is too low
	FrontLightOut Kind = "front-light-out" // the front light is out through a whole song
	HouseLit      Kind = "house-lit"       // the house lights are up in a strong section
	Crowded       Kind = "crowded"         // more effects at once than the energy carries
	AgainstBeat   Kind = "against-beat"    // an effect that goes against the beat or the bar
	EyesLit       Kind = "eyes-lit"        // light on the audience's eyes, bright and long
	FacesFlicker  Kind = "faces-flicker"   // the front light changes fast inside a section
	FacesColoured Kind = "faces-coloured"  // the front light has a colour while someone sings or speaks
	UnevenSet     Kind = "uneven-set"      // a song is stronger or weaker than the others at the same energies
	SameSongs     Kind = "same-songs"      // two songs that follow one another have much the same light
	NeverSet      Kind = "never-set"       // a kept group that no cue of the set names
	EmptyNote     Kind = "empty-note"      // a note that does nothing
	Flashing      Kind = "flashing"        // more flashes than is safe
	NumbersDiffer Kind = "numbers-differ"  // a song has another program number in another set
	Idle          Kind = "accepted-idle"   // a finding is accepted that is not there
)

// Finding is one thing that should be looked at.
type Finding struct {
	Kind       Kind       `json:"finding"`
	Severity   Severity   `json:"severity"`
	Song       string     `json:"song,omitempty"` // its name; "": of the whole show
	Place      string     `json:"place,omitempty"`
	Beat       clock.Beat `json:"-"`                 // from the song's first downbeat
	Until      clock.Beat `json:"-"`                 // its end; Beat if it is at one place
	Written    string     `json:"written,omitempty"` // file and line, where known
	Reason     string     `json:"reason"`
	Suggestion string     `json:"suggestion"`
	Accepted   string     `json:"accepted,omitempty"` // the reason the song's file gives for leaving it
	others     []int32    // sections of the song that it is about, besides the one at Beat
	song       int32      // of a finding about a song beside others: its index
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

// find adds a finding about a part of the song.
func (j *judge) find(k Kind, s Severity, at, until clock.Beat, reason, suggestion string) {
	j.song.Findings = append(j.song.Findings, Finding{
		Kind: k, Severity: s, Song: j.plan.Name, Place: position.Name(j.plan, at), Beat: at, Until: until,
		Written: j.written(at), Reason: reason, Suggestion: suggestion,
	})
}

// written returns the file and line of the cue in force at a place; the song's file
// if there is none.
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

// acceptOfSet marks the findings about the song beside others that its file accepts. Where
// not all songs of the set were measured, none of these can be found, and it returns
// true.
func (j *judge) acceptOfSet(a *shows.Accepted) bool {
	used := j.night.set() == nil
	for i := range j.night.Findings {
		f := &j.night.Findings[i]
		if isOfSet(f.Kind) && f.song == j.song.Index && string(f.Kind) == a.Finding && (a.Section < 0 || a.Section == j.sectionAt(f.Beat)) {
			f.Accepted, used = a.Reason, true
		}
	}
	return used
}

// accept marks the findings that the song's file accepts, finds what it accepts in
// vain, and sorts all of them.
func (j *judge) accept() {
	found := j.song.Findings
	for _, a := range j.night.Show.Accepted {
		if a.Song != j.song.Index {
			continue
		}
		used := false
		for i := range found {
			f := &found[i]
			if string(f.Kind) == a.Finding && (a.Section < 0 || a.Section == j.sectionAt(f.Beat) || slices.Contains(f.others, a.Section)) {
				f.Accepted, used = a.Reason, true
			}
		}
		if isOfSet(Kind(a.Finding)) {
			used = j.acceptOfSet(&a)
		}
		if !used {
			j.song.Findings = append(j.song.Findings, Finding{
				Kind: Idle, Severity: Hint, Song: j.plan.Name, Written: a.Written,
				Reason: a.Finding + " is accepted, and was not found", Suggestion: "take the line away",
			})
		}
	}
	slices.SortStableFunc(j.song.Findings, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.Beat, b.Beat))
	})
}
