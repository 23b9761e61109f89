package plan

import (
	"fmt"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/limits"
)

// column is the length of a column.
const column = clock.Quarter / PerQuarter

// darkGaps finds stretches in which the stage is dark and no cue asks for it.
func (j *judge) darkGaps() {
	columns, dark := j.song.Columns, j.limit(limits.DarkLevel)
	for i := 0; i < len(columns); i++ {
		if columns[i].Brightness >= dark {
			continue
		}
		from := i
		for i+1 < len(columns) && columns[i+1].Brightness < dark {
			i++
		}
		j.darkGap(columns[from].Beat, columns[i].Beat+column)
	}
}

// darkGap finds what is wrong with one dark stretch. A blink and the end of the
// song are fine.
func (j *judge) darkGap(from, to clock.Beat) {
	meter := j.plan.MeterAt(from)
	if float64(to-from) < float64(j.limit(limits.DarkGap)*float64(meter.Beat())) || to+column >= j.song.Length {
		return
	}
	beats, energy := float64(j.plan.BeatsUntil(from, to)), j.song.Sections[j.sectionAt(from)].Energy
	switch asked := j.asksForDark(from, to); {
	case asked && float64(to-from) > float64(j.limit(limits.DarkLook)*float64(meter.Bar())) && energy > 1:
		j.find(DarkGap, Warning, from, to, fmt.Sprintf("the stage stays dark for %.0f beats, and a dark look may last %s", beats, j.limitText(limits.DarkLook)),
			"bring a look back on the next downbeat, or end the dark cue sooner")
	case !asked && energy > 0:
		j.find(DarkGap, Warning, from, to, fmt.Sprintf("the stage goes dark for %.0f beats, and no cue there has a dark look", beats),
			"an effect with full depth on all heads at once does that: give it less depth or a path, or set its low")
	}
}

// asksForDark reports whether a dark cue is in force in a stretch, or the fade from
// one is not over yet. The dark cue may be the last of the song before.
func (j *judge) asksForDark(from, to clock.Beat) bool {
	program := j.night.Show.Program
	lights := func(c engine.Cue) bool { return !c.SendsOnly }
	first := slices.IndexFunc(j.plan.Cues, lights)
	if j.song.Before != engine.None && first >= 0 && j.fading(first, from) {
		before := slices.DeleteFunc(slices.Clone(program.Songs[j.song.Before].Cues), func(c engine.Cue) bool { return c.SendsOnly })
		if n := len(before); n > 0 && shows.IsDark(program, &before[n-1]) {
			return true
		}
	}
	for i := range j.plan.Cues {
		if c := &j.plan.Cues[i]; c.At > to || !shows.IsDark(program, c) {
			continue
		}
		next := slices.IndexFunc(j.plan.Cues[i+1:], lights)
		if next < 0 || j.fading(i+1+next, from) {
			return true
		}
	}
	return false
}

// fading reports whether the fade of a cue is not over before a place.
func (j *judge) fading(cue int, at clock.Beat) bool {
	up := &j.plan.Cues[cue]
	return at <= j.plan.BeatAt(j.plan.TimeAt(up.At)+shows.FadeTime(j.plan, up))
}
