package plan

import (
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/limits"
)

// stretch is a part of a section in which one cue is in force.
type stretch struct {
	section  int
	from, to clock.Beat
	cue      *engine.Cue
}

// stretches cuts a song where sections and cues begin. Before the first cue there is
// no stretch.
func (j *judge) stretches() (list []stretch) {
	next, now := 0, (*engine.Cue)(nil)
	for i := range j.song.Sections {
		x := &j.song.Sections[i]
		at, end := x.Start, x.Start+x.Length
		add := func(to clock.Beat) {
			if now != nil && to > at {
				list = append(list, stretch{i, at, to, now})
			}
			at = max(at, to)
		}
		for ; next < len(j.plan.Cues) && j.plan.Cues[next].At < end; next++ {
			if c := &j.plan.Cues[next]; !c.SendsOnly {
				add(c.At)
				now = c
			}
		}
		add(end)
	}
	return list
}

// stageEffects lists the effects of a cue that act on heads of the stage.
func (j *judge) stageEffects(c *engine.Cue) (list []int32) {
	effects := j.night.Show.Program.Effects
	for _, e := range c.Effects {
		if slices.ContainsFunc(effects[e].Heads, func(h int32) bool { return j.onStage[h] }) && !slices.Contains(list, e) {
			list = append(list, e)
		}
	}
	return list
}

// effectNames joins the names of effects.
func (j *judge) effectNames(list []int32) string {
	var names []string
	for _, e := range list {
		names = append(names, j.night.Show.Program.Effects[e].Name)
	}
	return strings.Join(names, ", ")
}

// crowded finds sections with more effects at once than their energy carries, for a
// beat or longer.
func (j *judge) crowded(parts []stretch) {
	most := make([][]int32, len(j.song.Sections))
	for i := range parts {
		p := &parts[i]
		if list := j.stageEffects(p.cue); p.to-p.from >= j.plan.MeterAt(p.from).Beat() && len(list) > len(most[p.section]) {
			most[p.section] = list
		}
	}
	for i, list := range most {
		s := &j.song.Sections[i]
		limit, kind := limits.MiddleEffects, "a section of middle energy"
		switch {
		case j.isQuiet(s):
			limit, kind = limits.QuietEffects, "a quiet section"
		case j.isStrong(s):
			limit, kind = limits.StrongEffects, "a strong section"
		}
		if float64(len(list)) > j.limit(limit) {
			j.find(Crowded, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%d effects at once (%s) in %s, energy %d, at most %s", len(list), j.effectNames(list), kind, s.Energy, j.limitText(limit)),
				"take the effects away that matter least: the eye follows one movement at a time")
		}
	}
}

// againstBeat finds effects that go against the beat or the bar of a section for
// longer than a fill.
func (j *judge) againstBeat(parts []stretch) {
	against := map[int32]float64{} // bars of the section by effect
	var order []int32
	report := func(section int) {
		s := &j.song.Sections[section]
		order = slices.DeleteFunc(order, func(e int32) bool { return against[e] <= j.limit(limits.AgainstBeat) })
		if len(order) > 0 {
			m := j.plan.MeterAt(s.Start)
			var names []string
			for _, e := range order {
				names = append(names, repeats(&j.night.Show.Program.Effects[e], m))
			}
			j.find(AgainstBeat, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("against bars of %s in %s for longer than %s: %s", plural(m.Beats(), "beat"), m, j.limitText(limits.AgainstBeat), strings.Join(names, "; ")),
				"give it a period of whole bars, of beats that fit the bar, or of a part of a beat")
		}
		clear(against)
		order = order[:0]
	}
	for i := range parts {
		p := &parts[i]
		m := j.plan.MeterAt(p.from)
		for _, e := range j.stageEffects(p.cue) {
			if goesWithBeat(&j.night.Show.Program.Effects[e], m) {
				continue
			}
			if !slices.Contains(order, e) {
				order = append(order, e)
			}
			against[e] += float64(p.to-p.from) / float64(m.Bar())
		}
		if i+1 == len(parts) || parts[i+1].section != p.section {
			report(p.section)
		}
	}
}

// repeats names an effect and says how often its light repeats.
func repeats(e *engine.Effect, m engine.Meter) string {
	beats := float64(e.Period.In(m)) / float64(m.Beat()) / float64(max(1, e.Pulses))
	text := fmt.Sprintf("%s repeats every %.4g beats", e.Name, beats)
	if e.Wave.Kind == engine.Steps {
		text += fmt.Sprintf(" in %d steps", len(e.Wave.Levels))
	}
	return text
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// goesWithBeat reports whether the cycle of an effect, and each step of a wave of
// steps, is a whole number of bars, or of beats that divides the bar, or fits a beat a
// whole number of times. Noise has no cycle that is felt.
func goesWithBeat(e *engine.Effect, m engine.Meter) bool {
	unit := m.Beat()
	if e.Period.Bars {
		unit = m.Bar()
	}
	fits := func(times clock.Beat) bool {
		// The cycle is period/cycles: both sides of each comparison are multiplied.
		period, cycles := unit*clock.Beat(e.Period.Num), clock.Beat(max(1, e.Period.Den))*times
		bar, beat := m.Bar()*cycles, m.Beat()*cycles
		return period > 0 && (period%bar == 0 || bar%period == 0 && period%beat == 0 || beat%period == 0)
	}
	pulses := clock.Beat(max(1, e.Pulses))
	switch e.Wave.Kind {
	case engine.Noise:
		return true
	case engine.Steps:
		return fits(pulses) && fits(pulses*clock.Beat(len(e.Wave.Levels)))
	}
	return fits(pulses)
}
