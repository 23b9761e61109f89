package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/limits"
)

// eyesLit finds light on the audience's eyes: fixtures that face the audience and are
// bright for long. Each section is reported once, with the brightest fixture.
func (j *judge) eyesLit() {
	if len(j.night.Show.FacesAudience) == 0 {
		return
	}
	most := clock.Time(float64(j.limit(limits.AudienceTime) * float64(clock.Second)))
	from := clock.Beat(-1) // where the present bright stretch begins
	for i, k := 0, 0; i < len(j.song.Sections); i++ {
		s := &j.song.Sections[i]
		limit := limits.AudienceLevel
		if j.isQuiet(s) {
			limit = limits.AudienceQuiet
		}
		longest, bright, head := clock.Time(0), 0.0, int32(0)
		for ; k < len(j.song.Columns) && j.song.Columns[k].Beat < s.Start+s.Length; k++ {
			c := &j.song.Columns[k]
			h, level := j.brightest(c)
			if level <= j.limit(limit) {
				from = -1
				continue
			}
			if from < 0 {
				from = c.Beat
			}
			longest = max(longest, j.plan.TimeAt(c.Beat+column)-j.plan.TimeAt(from))
			if level > bright {
				bright, head = level, h
			}
		}
		if longest > most {
			j.find(EyesLit, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%s faces the audience and is lit up to L* %.0f, above L* %s for %.1f s, longer than %s; energy is %d",
					j.night.Show.Program.Heads[head].Name, bright, strings.TrimSuffix(j.limitText(limit), " L*"), seconds(longest), j.limitText(limits.AudienceTime), s.Energy),
				"CAUTION: glare hurts eyes, and people who cannot see may fall. Dim it, shorten it, or turn it away; local rules and the hall's own come first")
		}
	}
}

// brightest returns the brightest of the heads that face the audience, and its L*.
func (j *judge) brightest(c *Column) (head int32, level float64) {
	most := -1.0
	for _, h := range j.night.Show.FacesAudience {
		if y := flash.Luminance(c.Lights[h]); y > most {
			head, most = h, y
		}
	}
	return head, fixtures.Lightness(max(0, most))
}

// facesFlicker finds front light that changes too fast inside a section. Each section
// is reported once, at the fastest change.
func (j *judge) facesFlicker() {
	columns := j.song.Columns
	if len(j.night.Faces) == 0 || len(columns) == 0 {
		return
	}
	faces := flash.NewArea("faces", j.night.Heads, j.night.Faces)
	expected := j.sectionChanges()
	level := make([]float64, len(columns)) // L*, changes of section taken out
	times := make([]clock.Time, len(columns))
	before := 0.0
	for i := range columns {
		now := fixtures.Lightness(flash.Luminance(faces.Light(columns[i].Lights)))
		times[i] = j.plan.TimeAt(columns[i].Beat)
		if i > 0 {
			level[i] = level[i-1]
			if !isWithin(expected, columns[i].Beat) {
				level[i] += now - before
			}
		}
		before = now
	}
	worst, at := make([]float64, len(j.song.Sections)), make([]clock.Beat, len(j.song.Sections))
	first, section := 0, 0
	for i := range columns {
		for times[i]-times[first] > clock.Second {
			first++
		}
		for section+1 < len(j.song.Sections) && columns[i].Beat >= j.song.Sections[section+1].Start {
			section++
		}
		low, high := slices.Min(level[first:i+1]), slices.Max(level[first:i+1])
		if high-low > worst[section]+1e-9 {
			worst[section], at[section] = high-low, columns[i].Beat
		}
	}
	for i, change := range worst {
		if s := &j.song.Sections[i]; change > j.limit(limits.FacesChange) {
			j.find(FacesFlicker, Warning, at[i], s.Start+s.Length,
				fmt.Sprintf("the front light (%s) changes by L* %.0f within a second inside %s, at most %s", headNames(j.night.Show.Program, j.night.Faces), change, s.Name, j.limitText(limits.FacesChange)),
				"fade it over two seconds or more, change it with the section, or take the front light out of the effect")
		}
	}
}

// sectionChanges lists the parts of the song in which front light may change: where a
// section begins, with the fades around it, and the song's last cue with its fade.
func (j *judge) sectionChanges() (list [][2]clock.Beat) {
	ease := j.night.Show.Program.Ease // of minimum levels
	for i := range j.song.Sections {
		start := j.song.Sections[i].Start
		list = append(list, [2]clock.Beat{start, j.plan.BeatAt(j.plan.TimeAt(start) + ease)})
	}
	last := -1
	for i := range j.plan.Cues {
		c := &j.plan.Cues[i]
		if c.SendsOnly {
			continue
		}
		last = i
		end := shows.FadeEnd(j.plan, c)
		if c.Pickup > 0 || slices.ContainsFunc(j.song.Sections, func(s Section) bool { return c.At <= s.Start && s.Start <= end }) {
			list = append(list, [2]clock.Beat{c.At, end + column})
		}
	}
	if last >= 0 && len(j.song.Sections) > 0 {
		if c := &j.plan.Cues[last]; c.At >= j.song.Sections[len(j.song.Sections)-1].Start {
			list = append(list, [2]clock.Beat{c.At, shows.FadeEnd(j.plan, c) + column})
		}
	}
	return list
}

// isWithin reports whether a place lies in one of some parts of a song.
func isWithin(parts [][2]clock.Beat, at clock.Beat) bool {
	return slices.ContainsFunc(parts, func(p [2]clock.Beat) bool { return p[0] <= at && at <= p[1] })
}

// facesColoured finds sections with words in which the front light has a colour.
func (j *judge) facesColoured() {
	faces := flash.NewArea("faces", j.night.Heads, j.night.Faces)
	for i, k := 0, 0; i < len(j.song.Sections) && len(j.night.Faces) > 0; i++ {
		s := &j.song.Sections[i]
		sum, lit := 0.0, 0.0
		for ; k < len(j.song.Columns) && j.song.Columns[k].Beat < s.Start+s.Length; k++ {
			c := faces.Light(j.song.Columns[k].Lights).OKLab()
			if j.song.Columns[k].Beat < s.Start+s.Length/2 || c.L <= 0 || fixtures.Lightness(flash.Luminance(faces.Light(j.song.Columns[k].Lights))) < j.limit(limits.DarkLevel) {
				continue
			}
			sum += math.Hypot(c.A, c.B) / c.L
			lit++
		}
		words := "someone speaks"
		if !s.Spoken {
			words = "there are words to sing"
		}
		if lit == 0 || sum/lit <= j.limit(limits.FacesChroma) || !s.Spoken && !j.plan.Sections[s.Index].Sung {
			continue
		}
		j.find(FacesColoured, Warning, s.Start, s.Start+s.Length,
			fmt.Sprintf("%s, and the front light has chroma %.2f, at most %s", words, sum/lit, j.limitText(limits.FacesChroma)),
			"give the front light a white, and the colour to the stage")
	}
}
