package plan

import (
	"fmt"
	"math"
	"slices"

	"tactus/shows/limits"
)

// usualSlope is by how much strength grows with a step of energy where no song of the
// set says: about that of songs whose light follows them (common practice, no source).
const usualSlope = 0.6

// asStrong is the difference of strength up to which two sections are as strong as one
// another.
const asStrong = 0.1

// evenness says how strong the songs of a set are at the same energies. Within songs,
// strength grows about linearly with energy, by slope a step; offset is the strength
// that a song then has at energy 0. Medians throughout, so that a section that is out
// of place moves nothing.
type evenness struct {
	slope  float64
	offset []float64 // by song of the set
}

func evennessOf(songs []*Song) (e evenness) {
	var slopes []float64
	for _, s := range songs {
		var own []float64
		for i := range s.Sections {
			for k := range s.Sections[:i] {
				a, b := &s.Sections[k], &s.Sections[i]
				if a.Energy != b.Energy && !a.Spoken && !b.Spoken {
					own = append(own, (b.Strength-a.Strength)/float64(b.Energy-a.Energy))
				}
			}
		}
		if len(own) > 0 {
			slopes = append(slopes, median(own))
		}
	}
	e.slope = usualSlope
	if len(slopes) > 0 {
		e.slope = max(0, median(slopes))
	}
	for _, s := range songs {
		var own []float64
		for i := range s.Sections {
			if x := &s.Sections[i]; !x.Spoken {
				own = append(own, x.Strength-float64(e.slope*float64(x.Energy)))
			}
		}
		if len(own) == 0 {
			own = []float64{math.NaN()} // of speech only: it is not compared
		}
		e.offset = append(e.offset, median(own))
	}
	return e
}

// median returns the middle of a list that has a value, or the mean of the two in the
// middle. It sorts the list.
func median(list []float64) float64 {
	slices.Sort(list)
	n := len(list)
	return (list[(n-1)/2] + list[n/2]) / 2
}

// outliers returns the songs, by place, that are stronger (above 0) or weaker than the
// median of the others by more than an amount. The one that is furthest off is taken
// out first, so that it does not make others look off.
func (e *evenness) outliers(most float64) map[int]float64 {
	off := map[int]float64{}
	for {
		worst, by := -1, 0.0
		for i, own := range e.offset {
			if _, out := off[i]; out || math.IsNaN(own) {
				continue
			}
			var others []float64
			for k, o := range e.offset {
				if _, out := off[k]; !out && k != i && !math.IsNaN(o) {
					others = append(others, o)
				}
			}
			if len(others) == 0 {
				return off
			}
			if d := own - median(others); math.Abs(d) > max(most, math.Abs(by))+1e-9 {
				worst, by = i, d
			}
		}
		if worst < 0 {
			return off
		}
		off[worst] = by
	}
}

// contradiction returns the section of a song and the one of another song that say
// most plainly that their energies do not mean the same: if there is one, a section
// with less energy and no less strength, of these the ones whose energies are furthest
// apart.
func (e *evenness) contradiction(songs []*Song, i int, weak bool) (own, other *Section, of *Song) {
	best := math.Inf(-1)
	for k, s := range songs {
		if k == i {
			continue
		}
		for x := range songs[i].Sections {
			for y := range s.Sections {
				a, b := &songs[i].Sections[x], &s.Sections[y]
				low, high := b, a // high has more energy, and too little strength
				if !weak {
					low, high = a, b
				}
				gap := low.Strength - high.Strength + float64(e.slope*float64(high.Energy-low.Energy))
				if low.Strength >= high.Strength-asStrong {
					gap += float64(100 * float64(1+high.Energy-low.Energy))
				}
				if high.Energy >= low.Energy && !a.Spoken && !b.Spoken && gap > best {
					best, own, other, of = gap, a, b, s
				}
			}
		}
	}
	return own, other, of
}

// uneven finds songs in which an energy means another strength than in the others.
func (s *setJudge) uneven() {
	e := evennessOf(s.songs)
	off := e.outliers(s.night.Show.Limits.Value(limits.UnevenStrength))
	for i, song := range s.songs {
		by, out := off[i]
		if !out {
			continue
		}
		own, other, of := e.contradiction(s.songs, i, by < 0)
		if own == nil {
			continue // every energy of one is above all of the other: nothing to show
		}
		than, amount, less := "stronger", "less", "more"
		if by < 0 {
			than, amount, less = "weaker", "more", "less"
		}
		s.find(UnevenSet, Warning, song, own.Start,
			fmt.Sprintf("%s is %s than the other songs at the same energies, by strength %.1f, at most %s: %s has energy %d and strength %.1f (L* %.0f), and %s of %s energy %d and strength %.1f (L* %.0f)",
				song.Name, than, math.Abs(by), s.night.Show.Limits.Text(limits.UnevenStrength),
				own.Name, own.Energy, own.Strength, own.Brightness, other.Name, of.Name, other.Energy, other.Strength, other.Brightness),
			fmt.Sprintf("give %s %s light, or %s %s, or change the energies: one energy should look alike all night", song.Name, amount, of.Name, less))
	}
}
