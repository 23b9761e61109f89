package plan

import (
	"fmt"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/limits"
)

// check finds what should be looked at before doors, in the show and in each song.
func (n *Night) check() {
	kept := n.checkKept()
	n.Findings = append(append(n.emptyNotes(), n.numbersDiffer()...), kept.findings...)
	onStage := make([]bool, len(n.Show.Program.Heads))
	for _, h := range n.Stage {
		onStage[h] = true
	}
	var judges []judge
	for i := range n.Songs {
		traits := n.measureTraits(&n.Songs[i])
		n.Songs[i].traits = &traits
		j := judge{night: n, kept: &kept, onStage: onStage, song: &n.Songs[i], plan: &n.Show.Program.Songs[n.Songs[i].Index]}
		j.inversions()
		j.follows()
		j.dimPeak()
		j.alike()
		j.busy()
		j.darkGaps()
		j.colours()
		j.reach()
		j.fades()
		j.faces()
		j.frontLight()
		j.houseLights()
		parts := j.stretches()
		j.crowded(parts)
		j.againstBeat(parts)
		j.eyesLit()
		j.facesFlicker()
		j.facesColoured()
		j.flashes()
		judges = append(judges, j)
	}
	if s := n.set(); s != nil {
		s.uneven()
		s.same()
	}
	for i := range judges {
		judges[i].accept()
	}
}

// judge checks one song.
type judge struct {
	night *Night
	kept  *keptLight
	song  *Song
	plan  *engine.Song

	onStage []bool // by head
}

// limit returns the value of a limit in its unit.
func (j *judge) limit(k limits.Key) float64 { return j.night.Show.Limits.Value(k) }

// limitText returns a limit with its unit, and says if the show adjusted it.
func (j *judge) limitText(k limits.Key) string { return j.night.Show.Limits.Text(k) }

// sectionAt returns the section at a place; the last for the song's end.
func (j *judge) sectionAt(at clock.Beat) int32 {
	for i := range j.song.Sections {
		if s := &j.song.Sections[i]; at < s.Start+s.Length {
			return int32(i)
		}
	}
	return int32(len(j.song.Sections) - 1)
}

// Follows returns the rank correlation of energies and strengths, -1..1; NaN where
// there are too few sections, or all have one energy or one strength.
func (s *Song) Follows() float64 {
	var energy, strength []float64
	for i := range s.Sections {
		energy = append(energy, float64(s.Sections[i].Energy))
		strength = append(strength, s.Sections[i].Strength)
	}
	return Spearman(energy, strength)
}

// FollowsInWords says whether the light follows the song.
func (s *Song) FollowsInWords() string {
	switch rho := s.Follows(); {
	case math.IsNaN(rho):
		return "too little to compare"
	case rho >= s.judgedBy.Value(limits.FollowsFrom):
		return "light follows the song"
	case rho >= s.judgedBy.Value(limits.MostlyFollowsFrom):
		return "light mostly follows the song"
	case rho > 0:
		return "light hardly follows the song"
	}
	return "light does not follow the song"
}

// span returns the least and the highest value of a song's sections.
func span(s *Song, of func(*Section) float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i := range s.Sections {
		v := of(&s.Sections[i])
		low, high = min(low, v), max(high, v)
	}
	return low, high
}

// follows finds light that is all alike, or that does not follow the energies.
func (j *judge) follows() {
	quiet, loud := span(j.song, func(s *Section) float64 { return float64(s.Energy) })
	weak, strong := span(j.song, func(s *Section) float64 { return s.Strength })
	if loud-quiet >= j.limit(limits.FlatEnergies) && strong-weak < j.limit(limits.FlatStrength) {
		j.find(Flat, Warning, 0, j.song.Length,
			fmt.Sprintf("energies go from %.0f to %.0f, and strength only from %.1f to %.1f, want a span of %s", quiet, loud, weak, strong, j.limitText(limits.FlatStrength)),
			"give the quiet sections a darker look and the loud ones a brighter one")
		return // DoesNotFollow would say the same again
	}
	if rho := j.song.Follows(); float64(len(j.song.Sections)) >= j.limit(limits.SectionsToCompare) && loud-quiet >= j.limit(limits.FlatEnergies) &&
		rho < j.limit(limits.MostlyFollowsFrom) && !j.explained() {
		j.find(DoesNotFollow, Warning, 0, j.song.Length,
			fmt.Sprintf("over the song, light and energy agree by %.2f (1 is fully, 0 not at all), want %s or more", rho, j.limitText(limits.MostlyFollowsFrom)),
			"look at the inversions first")
	}
}

// explained reports whether light mostly follows the song without the sections that
// the inversions name: then they have said all there is to say.
func (j *judge) explained() bool {
	rest := Song{Sections: slices.Clone(j.song.Sections), judgedBy: j.song.judgedBy}
	for _, c := range j.song.Contradictions() {
		rest.Sections = slices.DeleteFunc(rest.Sections, func(s Section) bool { return s.Index == c.Cause.Index })
	}
	return len(rest.Sections) < len(j.song.Sections) && rest.Follows() >= j.limit(limits.MostlyFollowsFrom)
}

// stronger says in what a is stronger than b.
func stronger(a, b *Section) string {
	bright, busy := a.Brightness > b.Brightness, a.PerSecond > b.PerSecond
	switch {
	case bright && busy:
		return "brighter and busier"
	case bright:
		return "brighter"
	case busy:
		return "busier"
	}
	return "fuller"
}

// isQuiet reports whether a section has the energy of a quiet one.
func (j *judge) isQuiet(s *Section) bool { return float64(s.Energy) <= j.limit(limits.QuietEnergy) }

// isStrong reports whether a section has the energy of a strong one.
func (j *judge) isStrong(s *Section) bool { return float64(s.Energy) >= j.limit(limits.StrongEnergy) }

func (j *judge) busy() {
	for i := range j.song.Sections {
		s := &j.song.Sections[i]
		if j.isQuiet(s) && s.PerSecond > j.limit(limits.QuietMotion) {
			j.find(TooBusy, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("it is a quiet section, energy %d, and light moves by %.2f a second, at most %s", s.Energy, s.PerSecond, j.limitText(limits.QuietMotion)),
				"take an effect away, or give it a longer period or less depth")
		}
	}
}

func (j *judge) colours() {
	for i := range j.song.Sections {
		s := &j.song.Sections[i]
		if s.Away > j.night.Show.Limits.Share(limits.OffPalette) {
			j.find(OffPalette, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%.0f %% of its light is neither of the palette nor between two of its colours, at most %s", s.Away*100, j.limitText(limits.OffPalette)),
				"name the roles main, second, accent and warm in looks and effects, or change the palette")
		}
	}
}

func (j *judge) faces() {
	for i := range j.song.Sections {
		s := &j.song.Sections[i]
		if s.Spoken && len(j.night.Faces) > 0 && s.FacesLow < j.limit(limits.FacesLevel) {
			j.find(FacesDark, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("someone speaks, and the front light goes down to L* %.0f, want %s or more", s.FacesLow, j.limitText(limits.FacesLevel)),
				"set the fronts in it, or a floor for them in rig.yaml")
		}
	}
}
