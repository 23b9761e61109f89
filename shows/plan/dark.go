package plan

import (
	"fmt"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// dark finds stretches in which the stage is dark and nobody asked for it.
func (j *judge) dark() {
	columns := j.song.Columns
	for i := 0; i < len(columns); i++ {
		if columns[i].Brightness >= darkBelow {
			continue
		}
		from := i
		for i+1 < len(columns) && columns[i+1].Brightness < darkBelow {
			i++
		}
		j.gap(columns[from].Beat, columns[i].Beat+clock.Quarter/PerQuarter)
	}
}

func (j *judge) gap(from, to clock.Beat) {
	beats := float64(j.plan.BeatsUntil(from, to))
	meter := j.plan.MeterAt(from)
	if float64(to-from) < float64(darkBeats*float64(meter.Beat())) || to+clock.Quarter/PerQuarter >= j.song.Length {
		return // a blink, or the song's end
	}
	energy := j.song.Sections[j.sectionAt(from)].Energy
	if j.asked(from, to) {
		if to-from <= darkBars*meter.Bar() || energy <= 1 {
			return
		}
		j.find(DarkGap, Warning, from, to, fmt.Sprintf("the stage stays dark for %.0f beats", beats),
			"bring a look back on the next downbeat, or end the dark cue sooner")
		return
	}
	if energy == 0 {
		return
	}
	j.find(DarkGap, Warning, from, to, fmt.Sprintf("the stage goes dark for %.0f beats, and no cue there has a dark look", beats),
		"an effect with full depth on all heads at once does that: give it less depth or a path, or set its low")
}

// asked reports whether a cue with a dark look holds in a stretch, or the light is
// still on its way up from one; that may be the last of the song before.
func (j *judge) asked(from, to clock.Beat) bool {
	if j.song.Before != engine.None {
		cues := j.night.Show.Program.Songs[j.song.Before].Cues
		if i := lastLit(cues); i >= 0 && j.unlit(&cues[i]) {
			if first := slices.IndexFunc(j.plan.Cues, func(c engine.Cue) bool { return !c.SendsOnly }); first >= 0 && j.rising(first, from) {
				return true
			}
		}
	}
	for i := range j.plan.Cues {
		c := &j.plan.Cues[i]
		if c.At > to || !j.unlit(c) {
			continue
		}
		next := i + 1
		for next < len(j.plan.Cues) && j.plan.Cues[next].SendsOnly {
			next++
		}
		if next == len(j.plan.Cues) {
			return true
		}
		if j.rising(next, from) {
			return true
		}
	}
	return false
}

// rising reports whether the fade of a cue is not over before a place.
func (j *judge) rising(cue int, at clock.Beat) bool {
	up := &j.plan.Cues[cue]
	return at <= j.plan.BeatAt(j.plan.TimeAt(up.At)+takes(j.plan, up))
}

// lastLit returns the last of a song's cues that is about light, or -1.
func lastLit(cues []engine.Cue) int {
	for i := len(cues) - 1; i >= 0; i-- {
		if !cues[i].SendsOnly {
			return i
		}
	}
	return -1
}

// unlit reports whether a cue leaves the stage all but dark.
func (j *judge) unlit(c *engine.Cue) bool {
	if c.SendsOnly {
		return false
	}
	level := map[int32]float64{}
	for i := range c.Parts {
		if p := &c.Parts[i]; p.Sets(fixtures.Intensity) {
			for _, h := range p.Heads {
				level[h] = p.Values[fixtures.Intensity]
			}
		}
	}
	sum := 0.0
	for _, h := range j.night.Stage {
		sum += level[h]
	}
	return sum < 0.1*float64(len(j.night.Stage))
}
