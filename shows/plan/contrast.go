package plan

import (
	"fmt"
	"math"
	"slices"

	"tactus/fixtures"
	"tactus/shows/limits"
	"tactus/shows/position"
)

// DimPeak returns the sections of a song that contradict its peak: the brightest
// section of the highest energy, and the brightest of a lower energy, if that is
// brighter by the peak margin or more. Otherwise, both are nil.
func (s *Song) DimPeak() (peak, brighter *Section) {
	highest := int8(-1)
	for i := range s.Sections {
		highest = max(highest, s.Sections[i].Energy)
	}
	for i := range s.Sections {
		x := &s.Sections[i]
		switch {
		case x.Energy == highest && (peak == nil || x.Brightness > peak.Brightness):
			peak = x
		case x.Energy < highest && (brighter == nil || x.Brightness > brighter.Brightness):
			brighter = x
		}
	}
	if peak == nil || brighter == nil || brighter.Brightness-peak.Brightness < s.judgedBy.Value(limits.PeakMargin) {
		return nil, nil
	}
	return peak, brighter
}

// dimPeak finds a peak that is darker than a section of less energy, unless light is
// flat or an inversion is about these two sections.
func (j *judge) dimPeak() {
	peak, brighter := j.song.DimPeak()
	if peak == nil || j.found(Flat) || j.song.contradict(peak, brighter) {
		return
	}
	j.find(DimPeak, Warning, peak.Start, peak.Start+peak.Length,
		fmt.Sprintf("%s has the song's highest energy, %d, and is darker than %s, energy %d (L* %.0f and %.0f)",
			peak.Name, peak.Energy, brighter.Name, brighter.Energy, peak.Brightness, brighter.Brightness),
		fmt.Sprintf("give %s a brighter look or effects of less depth, or %s less light", peak.Name, brighter.Name))
}

// found reports whether the song has a finding of a kind already.
func (j *judge) found(k Kind) bool {
	return slices.ContainsFunc(j.song.Findings, func(f Finding) bool { return f.Kind == k })
}

// Alike reports whether two sections look the same: the same effects, and the same
// mean light of every head of the stage up to the alike distance in Oklab.
func (s *Song) Alike(stage []int32, a, b *Section) bool {
	if !slices.EqualFunc(a.effects, b.effects, slices.Equal) {
		return false
	}
	most := s.judgedBy.Value(limits.AlikeDistance)
	x, y := s.meanLight(stage, a), s.meanLight(stage, b)
	for i := range x {
		if x[i].Distance(y[i]) > most {
			return false
		}
	}
	return true
}

// meanLight returns the mean light of heads in the second half of a section, when
// the fade from the section before is over.
func (s *Song) meanLight(heads []int32, x *Section) []fixtures.OKLab {
	sum, count := make([]fixtures.OKLab, len(heads)), 0.0
	for i := range s.Columns {
		c := &s.Columns[i]
		if c.Beat < x.Start+x.Length/2 || c.Beat >= x.Start+x.Length {
			continue
		}
		count++
		for k, h := range heads {
			light := c.Lights[h].OKLab()
			sum[k].L, sum[k].A, sum[k].B = sum[k].L+light.L, sum[k].A+light.A, sum[k].B+light.B
		}
	}
	for k := range sum {
		sum[k].L, sum[k].A, sum[k].B = sum[k].L/max(1, count), sum[k].A/max(1, count), sum[k].B/max(1, count)
	}
	return sum
}

// alike finds neighbouring sections that look the same: a warning if their energies
// differ, a hint if only their names do. Verse 1 and verse 2 of one energy may.
func (j *judge) alike() {
	if j.found(Flat) {
		return
	}
	for i := 1; i < len(j.song.Sections); i++ {
		a, b := &j.song.Sections[i-1], &j.song.Sections[i]
		if a.Energy == b.Energy && position.BaseName(a.Name) == position.BaseName(b.Name) || a.Spoken || b.Spoken || !j.song.Alike(j.night.Stage, a, b) {
			continue
		}
		severity := Warning
		if a.Energy == b.Energy {
			severity = Hint
		}
		j.find(Alike, severity, b.Start, b.Start+b.Length,
			fmt.Sprintf("%s, energy %d, looks like %s before it, energy %d (L* %.0f and %.0f, the same effects)",
				b.Name, b.Energy, a.Name, a.Energy, math.Round(b.Brightness), math.Round(a.Brightness)),
			"give one of them another look, other effects or other levels")
	}
}
