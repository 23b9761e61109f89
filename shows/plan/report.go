package plan

import (
	"math"
	"slices"

	"tactus/shows/limits"
)

// Summary has a night's measures, rounded so that they are the same on every
// processor, and its findings, to be written as JSON.
type Summary struct {
	Songs []SongSummary `json:"songs"`
	Show  []Finding     `json:"show"` // of the whole show, and of songs beside others
	// Set has what is measured of the set as a whole; nil unless it has two songs or
	// more and all of them were measured.
	Set *SetSummary `json:"set"`
	// Adjusted lists the limits that show.yaml adjusts.
	Adjusted []AdjustedLimit `json:"adjusted"`
}

// AdjustedLimit is a limit that has another value than its default.
type AdjustedLimit struct {
	Limit   string  `json:"limit"`
	Value   float64 `json:"value"`
	Default float64 `json:"default"`
	Unit    string  `json:"unit,omitempty"`
}

// SongSummary is a song of a [Summary].
type SongSummary struct {
	Song     int32            `json:"song"` // in the show's songs, from 0
	Name     string           `json:"name"`
	Seconds  float64          `json:"seconds"`
	Follows  *float64         `json:"follows"` // rank correlation of energy and strength, -1..1; null: too little to compare
	Flashes  float64          `json:"flashes"` // most in a second, in any area
	Traits   Traits           `json:"traits"`
	Sections []SectionSummary `json:"sections"`
	Findings []Finding        `json:"findings"`
}

// SectionSummary is a section of a [SongSummary].
type SectionSummary struct {
	Section    int32   `json:"section"` // in the song's sections, from 0
	Name       string  `json:"name"`
	From       float64 `json:"from"` // seconds from the first downbeat
	To         float64 `json:"to"`
	Energy     int8    `json:"energy"`     // 0..10
	Strength   float64 `json:"strength"`   // 0..10
	Brightness float64 `json:"brightness"` // L*, 0..100
	Share      float64 `json:"share"`      // of heads lit, 0..1
	Motion     float64 `json:"motion"`     // a second
	MotionBeat float64 `json:"motionBeat"` // a beat
	Chroma     float64 `json:"chroma"`
	Contrast   float64 `json:"contrast"`
	Away       float64 `json:"away"` // share of light off the palette, 0..1
	Faces      float64 `json:"faces"`
	Flashes    float64 `json:"flashes"`
	Spoken     bool    `json:"spoken,omitempty"`
}

// Report sums up a night.
func Report(n *Night) Summary {
	r := Summary{Songs: []SongSummary{}, Show: append([]Finding{}, n.Findings...), Adjusted: []AdjustedLimit{}}
	if s := n.set(); s != nil {
		r.Set = s.summary()
	}
	for _, k := range n.Show.Limits.AllAdjusted() {
		l := &limits.Table()[k]
		r.Adjusted = append(r.Adjusted, AdjustedLimit{l.Name, n.Show.Limits.Value(k), l.Default, l.Unit})
	}
	for i := range n.Songs {
		s := &n.Songs[i]
		out := SongSummary{
			Song: s.Index, Name: s.Name, Seconds: round(seconds(s.Time), 10), Sections: []SectionSummary{},
			Findings: append([]Finding{}, s.Findings...), Traits: n.Traits(s),
		}
		if rho := s.Follows(); !math.IsNaN(rho) {
			rho = round(rho, 100)
			out.Follows = &rho
		}
		for k := range s.Sections {
			x := &s.Sections[k]
			out.Flashes = max(out.Flashes, round(x.Flashes, 10))
			out.Sections = append(out.Sections, SectionSummary{
				Section: x.Index, Name: x.Name, From: round(seconds(x.From), 10), To: round(seconds(x.To), 10), Energy: x.Energy,
				Strength: round(x.Strength, 10), Brightness: round(x.Brightness, 1), Share: round(x.Share, 100),
				Motion: round(x.PerSecond, 100), MotionBeat: round(x.PerBeat, 100), Chroma: round(x.Chroma, 100),
				Contrast: round(x.Contrast, 100), Away: round(x.Away, 100), Faces: round(x.Faces, 1),
				Flashes: round(x.Flashes, 10), Spoken: x.Spoken,
			})
		}
		r.Songs = append(r.Songs, out)
	}
	return r
}

// Count returns how many findings there are of a severity that nobody accepted.
func (r *Summary) Count(s Severity) int {
	all := slices.Clone(r.Show)
	for i := range r.Songs {
		all = append(all, r.Songs[i].Findings...)
	}
	return len(Open(all, s)) - len(Open(all, s+1))
}

// round rounds a value to so many parts of 1. It returns no negative zero, which JSON
// would show.
func round(v, parts float64) float64 {
	if r := math.Round(float64(v*parts)) / parts; r != 0 {
		return r
	}
	return 0
}
