package plan

import (
	"fmt"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
)

// The limits of findings: common practice, no source. Energies and strengths are
// 0..10.
const (
	mostlyFollows  = 0.6  // rank correlation of energy and strength from which light mostly follows a song
	fullyFollows   = 0.8  // and from which it follows
	followSections = 4    // least sections of a song for a correlation
	apartEnergies  = 2    // difference in energy from which sections should differ in strength
	overStrength   = 0.4  // by how much the quieter section may not be stronger
	flatEnergies   = 4    // span of energies from which the sections of a song must differ
	flatStrength   = 1.0  // least span of strength then
	quietEnergy    = 3    // highest energy of a quiet section
	busyMotion     = 0.12 // most motion a second in a quiet section
	darkBelow      = 6    // L* of the stage: under 1 % of its light
	darkBeats      = 0.5  // beats from which dark is a gap
	darkBars       = 1    // bars that a dark look may last
	awayShare      = 0.2  // most light off the palette, of all light
	facesLeast     = 40   // least L*: 11 % of the front light
	strongEnergy   = 6    // lowest energy of a strong section
	peakMargin     = 1    // by how much L* a lesser section may not be brighter than the peak: about what is just seen
	alikeDistance  = 0.02 // most distance in Oklab between heads that look alike: about what is just seen side by side
	houseMost      = 0.3  // most house light in a strong section, 0..1 of its full
)

// check finds what should be looked at before doors, in the show and in each song.
func (n *Night) check() {
	kept := n.checkKept()
	n.Findings = append(append(n.emptyNotes(), n.numbersDiffer()...), kept.findings...)
	for i := range n.Songs {
		j := judge{night: n, kept: &kept, song: &n.Songs[i], plan: &n.Show.Program.Songs[n.Songs[i].Index]}
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
		j.flashes()
		j.accept()
	}
}

// judge checks one song.
type judge struct {
	night *Night
	kept  *keptLight
	song  *Song
	plan  *engine.Song
}

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
	case rho >= fullyFollows:
		return "light follows the song"
	case rho >= mostlyFollows:
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
	if loud-quiet >= flatEnergies && strong-weak < flatStrength {
		j.find(Flat, Warning, 0, j.song.Length,
			fmt.Sprintf("energies go from %.0f to %.0f, and strength only from %.1f to %.1f", quiet, loud, weak, strong),
			"give the quiet sections a darker look and the loud ones a brighter one")
		return // DoesNotFollow would say the same again
	}
	if rho := j.song.Follows(); len(j.song.Sections) >= followSections && loud-quiet >= flatEnergies && rho < mostlyFollows && !j.explained() {
		j.find(DoesNotFollow, Warning, 0, j.song.Length,
			fmt.Sprintf("over the song, light and energy agree by %.2f (1 is fully, 0 not at all), want %.1f or more", rho, mostlyFollows),
			"look at the inversions first")
	}
}

// explained reports whether light mostly follows the song without the sections that
// the inversions name: then they have said all there is to say.
func (j *judge) explained() bool {
	rest := Song{Sections: slices.Clone(j.song.Sections)}
	for _, c := range j.song.Contradictions() {
		rest.Sections = slices.DeleteFunc(rest.Sections, func(s Section) bool { return s.Index == c.Cause.Index })
	}
	return len(rest.Sections) < len(j.song.Sections) && rest.Follows() >= mostlyFollows
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

func (j *judge) busy() {
	for i := range j.song.Sections {
		s := &j.song.Sections[i]
		if s.Energy <= quietEnergy && s.PerSecond > busyMotion {
			j.find(TooBusy, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("it is a quiet section, energy %d, and light moves by %.2f a second, at most %.2f", s.Energy, s.PerSecond, busyMotion),
				"take an effect away, or give it a longer period or less depth")
		}
	}
}

func (j *judge) colours() {
	for i := range j.song.Sections {
		s := &j.song.Sections[i]
		if s.Away > awayShare {
			j.find(OffPalette, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%.0f %% of its light is neither of the palette nor between two of its colours", s.Away*100),
				"name the roles main, second, accent and warm in looks and effects, or change the palette")
		}
	}
}

func (j *judge) faces() {
	for i := range j.song.Sections {
		s := &j.song.Sections[i]
		if s.Spoken && len(j.night.Faces) > 0 && s.FacesLow < facesLeast {
			j.find(FacesDark, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("someone speaks, and the front light goes down to L* %.0f, want %d or more", s.FacesLow, facesLeast),
				"set the fronts in it, or a floor for them in rig.yaml")
		}
	}
}
