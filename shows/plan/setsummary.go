package plan

import (
	"math"
	"slices"
	"strings"
)

// SetSummary has what is measured of a set as a whole.
type SetSummary struct {
	Name  string      `json:"name"`
	Songs []SongInSet `json:"songs"` // in the order of the set
	Mean  float64     `json:"mean"`  // distance of traits between songs that follow one another, 0..1: the mean
	Least float64     `json:"least"` // and the least
	Alike [2]string   `json:"alike"` // the two songs with the least distance
	Looks LooksOfSet  `json:"looks"`
}

// SongInSet is a song of a set, beside the others.
type SongInSet struct {
	Song      int32   `json:"song"` // in the show's songs, from 0
	Name      string  `json:"name"`
	Part      string  `json:"part"`      // in the night: opener, rise, valley, peak, fall, level or closer
	Strength  float64 `json:"strength"`  // 0..10, the mean of the sections by length
	HueName   string  `json:"hueName"`   // of most coloured light, such as blue; white if there is none
	Hue       float64 `json:"hue"`       // 0..359 degrees in Oklab
	Motion    float64 `json:"motion"`    // a beat
	Blackouts int     `json:"blackouts"` // stretches in which the stage goes dark and comes back
	Flashes   float64 `json:"flashes"`   // in the whole song, in the area with the most
	Looks     int     `json:"looks"`     // different ones
}

// LooksOfSet counts the looks of a set.
type LooksOfSet struct {
	Used   int `json:"used"`   // by its songs
	Shared int `json:"shared"` // of these, by two songs or more
}

// leastStepOfSet is the difference in mean strength from which a song rises or falls
// from the one before, and from which a set has a peak: about what is felt (common practice, no source).
const leastStepOfSet = 0.3

// summary sums up the set.
func (s *setJudge) summary() *SetSummary {
	p := s.night.Show.Program
	out := SetSummary{Name: p.SetName}
	looks := s.countLooks(&out.Looks)
	var strengths []float64
	for _, at := range s.order {
		song := s.songs[at]
		t := s.night.Traits(song)
		strengths = append(strengths, meanStrength(song))
		out.Songs = append(out.Songs, SongInSet{
			Song: song.Index, Name: song.Name, Strength: round(meanStrength(song), 10), HueName: hueName(&t), Hue: t.Hue,
			Motion: t.Motion, Blackouts: int(t.Breaths), Flashes: round(song.AllFlashes, 2), Looks: looks[at],
		})
	}
	for i := range out.Songs {
		out.Songs[i].Part = partOf(strengths, i)
	}
	least, at, mean := neighbours(s.order, s.distances())
	out.Mean, out.Least = round(mean, 1000), round(least, 1000)
	if at > 0 {
		out.Alike = [2]string{s.songs[s.order[at-1]].Name, s.songs[s.order[at]].Name}
	}
	return &out
}

// meanStrength returns the mean strength of a song's sections by length.
func meanStrength(s *Song) float64 {
	sum, all := 0.0, 0.0
	for i := range s.Sections {
		w := float64(s.Sections[i].Length)
		sum += float64(w * s.Sections[i].Strength)
		all += w
	}
	return sum / all
}

// countLooks returns the number of different looks of each song, and counts those of
// the set.
func (s *setJudge) countLooks(all *LooksOfSet) (each []int) {
	songs := map[string]int{} // by look: how many songs use it
	for _, song := range s.songs {
		own := map[string]bool{}
		for _, c := range s.night.Show.Program.Songs[song.Index].Cues {
			if c.Name != "" && !c.SendsOnly && !own[c.Name] {
				own[c.Name] = true
				songs[c.Name]++
			}
		}
		each = append(each, len(own))
	}
	all.Used = len(songs)
	for _, n := range songs {
		if n > 1 {
			all.Shared++
		}
	}
	return each
}

// partOf names the part that a song plays in the set, by the strengths of all.
func partOf(strengths []float64, i int) string {
	last := len(strengths) - 1
	switch {
	case i == 0:
		return "opener"
	case i == last:
		return "closer"
	case strengths[i] >= slices.Max(strengths) && strengths[i]-slices.Min(strengths) >= leastStepOfSet:
		return "peak"
	}
	from, to := strengths[i]-strengths[i-1], strengths[i+1]-strengths[i]
	switch {
	case from <= -leastStepOfSet && to >= leastStepOfSet:
		return "valley"
	case from >= leastStepOfSet:
		return "rise"
	case from <= -leastStepOfSet:
		return "fall"
	}
	return "level"
}

// namedHue is a hue with its name.
type namedHue struct {
	name    string
	degrees float64
}

// hueNames lists hues by their place in Oklab: the primaries and secondaries of sRGB
// (Ottosson 2020), and names between them (common practice, no source).
func hueNames() []namedHue {
	return []namedHue{
		{"pink", 0},
		{"red", 29},
		{"orange", 55},
		{"amber", 78},
		{"yellow", 110},
		{"green", 142},
		{"turquoise", 175},
		{"cyan", 195},
		{"azure", 235},
		{"blue", 264},
		{"violet", 300},
		{"magenta", 328},
	}
}

// hueName returns the name of the hue nearest to a song's main hue.
func hueName(t *Traits) string {
	if t.Chroma < leastChroma {
		return "white"
	}
	return slices.MinFunc(hueNames(), func(a, b namedHue) int {
		x, y := circle(a.degrees, t.Hue), circle(b.degrees, t.Hue)
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return strings.Compare(a.name, b.name)
	}).name
}

// circle returns how far apart two places on the circle are, 0..180 degrees.
func circle(a, b float64) float64 {
	d := math.Abs(a - b)
	return min(d, 360-d)
}
