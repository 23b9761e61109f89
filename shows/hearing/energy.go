package hearing

import (
	"math"
	"strings"
)

// EnergyParts is what a section's energy is made of. Levels are in logarithms of about
// decades, and compare sections of one recording.
type EnergyParts struct {
	Loudness float64 // LUFS, without gates
	Filled   float64 // mean level above 2 kHz
	Bright   float64 // level above 2 kHz that a tenth of the time exceeds: strong hits
	Full     float64 // level of all bands that a tenth of the time exceeds
	Bass     float64 // how hard drums and bass begin, under 160 Hz
}

// energies fills the sections' energies: where each stands in the song's own range. Nothing
// in a recording says how strong a song is beside another, so its strongest section gets 9.
func (t *Take) energies(h *Heard) {
	var all []EnergyParts
	for _, s := range h.Sections {
		all = append(all, t.partsBetween(h.Lines[s.First], h.Lines[s.First+s.Bars]))
	}
	scores, words := strength(all)
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range scores {
		low, high = min(low, v), max(high, v)
	}
	reach := max(high-low, leastReach)
	for i := range h.Sections {
		s := &h.Sections[i]
		s.Parts, s.Words = all[i], words[i]
		s.Energy = math.Round(min(9, max(1, 9-8*(high-scores[i])/reach)))
	}
}

// leastReach is the range of strengths under which a song's energies are not spread over the
// whole scale: its sections hardly differ.
const leastReach = 3.0

func (t *Take) partsBetween(from, to float64) EnergyParts {
	f := t.features
	a, z := f.frameAt(from), f.frameAt(to)
	z = max(z, a+1)
	high, full, bass := make([]float64, z-a), make([]float64, z-a), make([]float64, z-a)
	over, under := 0.0, 0.0
	for _, hz := range f.centre {
		if hz >= 2000 {
			over++
		}
		if hz < 160 {
			under++
		}
	}
	for i := range high {
		for b, v := range f.bands[a+i] {
			full[i] += v / float64(len(f.centre))
			if f.centre[b] >= 2000 {
				high[i] += v / over
			}
			if f.centre[b] < 160 {
				bass[i] += f.flux[a+i][b] / under
			}
		}
	}
	return EnergyParts{t.loud.Between(from, to), mean(high), percentile(high, 0.9), percentile(full, 0.9), percentile(bass, 0.9)}
}

// strength says how strong each section is beside the others, and why. Loudness alone does
// not tell: a breakdown over a loud pad is weak. What tells strong from loud is the upper
// spectrum filled all the time, strong hits, and drums and bass.
func strength(all []EnergyParts) (scores []float64, words []string) {
	column := func(of func(EnergyParts) float64) []float64 {
		out := make([]float64, len(all))
		for i, p := range all {
			out[i] = of(p)
		}
		return standardize(out)
	}
	loud := column(func(p EnergyParts) float64 { return p.Loudness })
	filled := column(func(p EnergyParts) float64 { return p.Filled })
	bright := column(func(p EnergyParts) float64 { return p.Bright })
	full := column(func(p EnergyParts) float64 { return p.Full })
	bass := column(func(p EnergyParts) float64 { return p.Bass })
	for i := range all {
		scores = append(scores, loudnessWeight*loud[i]+filled[i]+bright[i]+full[i]+bass[i])
		var list []string
		say := func(v float64, more, less string) {
			switch {
			case v > 0.6:
				list = append(list, more)
			case v < -0.6:
				list = append(list, less)
			}
		}
		say(loud[i], "loud", "soft")
		say((bright[i]+filled[i])/2, "bright", "dull")
		say(full[i], "full", "thin")
		say(bass[i], "strong bass and drums", "little bass")
		if list == nil {
			list = []string{"in the middle of the song's range"}
		}
		words = append(words, strings.Join(list, ", "))
	}
	return scores, words
}

// loudnessWeight is what loudness counts beside the other parts.
const loudnessWeight = 0.25
