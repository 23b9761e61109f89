package plan

import (
	"fmt"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
)

// reach finds what nothing brings about: where sections can be entered by no note
// and by no command, those after one that goes round never come, and neither does
// a second pass.
func (j *judge) reach() {
	if entered(&j.night.Show.Program.Notes) {
		return
	}
	round := ""
	for i := range j.plan.Sections {
		s := &j.plan.Sections[i]
		if round != "" {
			j.find(NeverFires, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%s before it goes round until another section is entered, and no MIDI channel enters sections", round),
				`give "fire" or "arm at bar" a channel under daw in show.yaml`)
		}
		if s.Loop && round == "" {
			round = s.Name
		}
	}
	for i := range j.plan.Variants {
		v := &j.plan.Variants[i]
		if s := &j.plan.Sections[v.Section]; !s.Loop && v.Pass != 1 && len(v.Cues) > 0 {
			j.find(NeverFires, Warning, s.Start, s.Start+s.Length,
				fmt.Sprintf("%s has cues for a later pass, does not go round, and no MIDI channel enters sections", s.Name),
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

// fades finds fades that go on when their section is over.
func (j *judge) fades() {
	for i := range j.plan.Cues {
		c := &j.plan.Cues[i]
		if c.At < 0 || c.SendsOnly {
			continue
		}
		s := &j.song.Sections[j.sectionAt(c.At)]
		end := s.Start + s.Length
		if c.Pickup > 0 {
			end = j.plan.Sections[c.Pickup-1].Start + j.plan.Sections[c.Pickup-1].Length
		}
		left := j.plan.TimeAt(end) - j.plan.TimeAt(c.At)
		if t := takes(j.plan, c); t > left+clock.Second/Rate && s.Length > 0 {
			j.find(LongFade, Warning, c.At, end,
				fmt.Sprintf("the fade to %q takes %.1f s, and %s is over after %.1f s", c.Name, seconds(t), s.Name, seconds(left)),
				"shorten the fade, or let the cue come sooner")
		}
	}
}

// takes returns how long a cue's fade takes as planned.
func takes(s *engine.Song, c *engine.Cue) clock.Time {
	if c.Fade.Time > 0 {
		return c.Fade.Time
	}
	return s.TimeAt(s.PlaceAfter(c.At, c.Fade.Length)) - s.TimeAt(c.At)
}

func seconds(t clock.Time) float64 { return float64(t) / float64(clock.Second) }

// flashes finds areas that flash more than is let through. With a reason in the
// song's file it is a notice, not a fault.
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

// notes finds notes of show.yaml that do nothing in this show.
func (n *Night) notes() (found []Finding) {
	p := n.Show.Program
	house := false
	for i := range p.Heads {
		house = house || p.Heads[i].House
	}
	for _, w := range n.Show.NotesWritten {
		lacks := ""
		switch w.Kind {
		case engine.ShowTalk:
			lacks = lacking(p.Talk, "the set has no talk look")
		case engine.ShowPad:
			lacks = lacking(p.Pad, "the set has no pad look")
		case engine.ShowWalkIn:
			lacks = lacking(p.WalkIn, "the set has no walk-in look")
		case engine.ShowWalkOut:
			lacks = lacking(p.WalkOut, "the set has no walk-out look")
		case engine.HouseUp, engine.HouseHalf, engine.HouseOut, engine.HouseFree:
			if !house {
				lacks = "the rig names no house lights"
			}
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

func lacking(look int32, words string) string {
	if look == engine.None {
		return words
	}
	return ""
}
