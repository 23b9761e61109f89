package plan

import (
	"fmt"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/shows"
)

// reach finds what is never played. Where no note enters sections, those after one
// that loops never come, and no section has a second pass unless it loops.
func (j *judge) reach() {
	if entered(&j.night.Show.Program.Notes) {
		return
	}
	looping := ""
	for i := range j.plan.Sections {
		s := &j.plan.Sections[i]
		if looping != "" {
			j.find(NeverFires, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%s before it loops until another section is entered, and no MIDI channel enters sections", looping),
				`give "fire" or "arm at bar" a channel under daw in show.yaml`)
		}
		if s.Loop && looping == "" {
			looping = s.Name
		}
	}
	for i := range j.plan.Variants {
		v := &j.plan.Variants[i]
		if s := &j.plan.Sections[v.Section]; !s.Loop && v.Pass != 1 && len(v.Cues) > 0 {
			j.find(NeverFires, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%s has cues for a later pass, does not loop, and no MIDI channel enters sections", s.Name),
				"write loop: yes, or give the sections a channel under daw in show.yaml")
		}
	}
}

// entered reports whether a note can enter or arm a section.
func entered(n *engine.Notes) bool {
	if n.Fire != 0 {
		return true
	}
	for _, c := range n.Arm {
		if c != 0 {
			return true
		}
	}
	for _, kind := range n.Controls {
		if kind == engine.NextSection || kind == engine.PreviousSection {
			return true
		}
	}
	return false
}

// fades finds fades that are not over when their section is.
func (j *judge) fades() {
	for i := range j.plan.Cues {
		c := &j.plan.Cues[i]
		if end, long := shows.LongFade(j.plan, c); long {
			left := j.plan.TimeAt(end) - j.plan.TimeAt(c.At)
			j.find(LongFade, Warning, c.At, end,
				fmt.Sprintf("the fade to %q takes %.1f s, and %s is over after %.1f s", c.Name, seconds(shows.FadeTime(j.plan, c)), j.song.Sections[j.sectionAt(end-1)].Name, seconds(left)),
				"shorten the fade, or let the cue come sooner")
		}
	}
}

func seconds(t clock.Time) float64 { return float64(t) / float64(clock.Second) }

// flashes finds areas that ask for more flashes than the limiter lets through. With
// a reason in the song's file that is a hint to put up a notice, not an error.
func (j *judge) flashes() {
	limit := float64(flash.PerSecond)
	severity, more := Error, `make effects slower or shallower; the limiter softens them on the night. Or say why under "flashing" in the song's file`
	if j.plan.Flashes > 0 {
		limit = float64(j.plan.Flashes)
	}
	worst, kind := flash.Second{}, flash.General
	area := ""
	for i := range j.song.Flashes {
		f := &j.song.Flashes[i]
		if f.General.Flashes > worst.Flashes {
			worst, kind, area = f.General, flash.General, f.Area
		}
		if f.Red.Flashes > worst.Flashes {
			worst, kind, area = f.Red, flash.Red, f.Area
		}
	}
	if s := &j.song.Strobe; s.Hertz > worst.Flashes {
		worst = flash.Second{Flashes: s.Hertz, End: j.plan.TimeAt(s.Beat)}
		area = "the strobe of " + j.night.Show.Program.Heads[s.Head].Name
	}
	if worst.Flashes <= flash.PerSecond {
		return
	}
	red := ""
	if kind == flash.Red {
		red = "red "
	}
	at := j.plan.BeatAt(max(0, worst.End-clock.Second))
	words := fmt.Sprintf("%s makes %.1f %sflashes in a second, at most %d are let through", area, worst.Flashes, red, int(limit))
	if worst.Flashes <= limit {
		severity, more = Hint, "put up the notice that tactus sheet prints, and announce it"
		words = fmt.Sprintf("%s makes %.1f flashes in a second; the song says why: %s", area, worst.Flashes, j.plan.FlashWhy)
	}
	j.find(Flashing, severity, at, j.plan.BeatAt(worst.End), words, more)
}

// emptyNotes finds notes of show.yaml that do nothing in this show.
func (n *Night) emptyNotes() (found []Finding) {
	p := n.Show.Program
	house := false
	for i := range p.Heads {
		house = house || p.Heads[i].House
	}
	for _, w := range n.Show.NotesWritten {
		lacks, look, name := "", int32(0), ""
		switch w.Kind {
		case engine.ShowTalk:
			look, name = p.Talk, "talk"
		case engine.ShowPad:
			look, name = p.Pad, "pad"
		case engine.ShowWalkIn:
			look, name = p.WalkIn, "walk-in"
		case engine.ShowWalkOut:
			look, name = p.WalkOut, "walk-out"
		case engine.HouseUp, engine.HouseHalf, engine.HouseOut, engine.HouseFree:
			if !house {
				lacks = "the rig names no house lights"
			}
		}
		if look == engine.None {
			lacks = "the set has no " + name + " look"
		}
		if lacks != "" {
			found = append(found, Finding{
				Kind: EmptyNote, Severity: Warning, Written: w.Written,
				Reason: fmt.Sprintf("note %d, %q, does nothing: %s", w.Note, w.Key, lacks), Suggestion: "take the note away, or give it something to do",
			})
		}
	}
	return found
}
