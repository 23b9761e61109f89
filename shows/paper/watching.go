package paper

import (
	"fmt"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// watchSection says what is out of the ordinary in a section.
func (c *cues) watchSection(i int32) (list []string) {
	s := &c.song.Sections[i]
	if s.Note > 127 {
		list = append(list, "no note: follows the song position")
	}
	if s.Loop {
		list = append(list, "goes round until another is entered")
	}
	if s.Spoken {
		list = append(list, "someone speaks: faces stay lit")
	}
	for _, m := range c.song.Meters {
		if m.At >= s.Start && m.At < s.Start+s.Length {
			list = append(list, fmt.Sprintf("%sin %s", c.from(s, m.At), m.Meter))
		}
	}
	for _, t := range c.song.Tempos {
		if t.At >= s.Start && t.At < s.Start+s.Length {
			list = append(list, fmt.Sprintf("%s%.4g BPM", c.from(s, t.At), c.song.MeterAt(t.At).PerBeat(t.Tempo).BPM()))
		}
	}
	return list
}

// from names a place in a section, or nothing at its start.
func (c *cues) from(s *engine.Section, at clock.Beat) string {
	if at == s.Start {
		return ""
	}
	_, words, _ := c.place(at)
	return "from " + words + " "
}

// watchCue says what is out of the ordinary in a cue.
func (c *cues) watchCue(cue *engine.Cue) (list []string) {
	if cue.Pickup > 0 {
		list = append(list, "pickup into "+c.song.Sections[cue.Pickup-1].Name)
	}
	if !cue.SendsOnly && c.dark(cue) {
		list = append(list, c.darkness(cue))
	}
	end := c.fadeEnd(cue)
	for i := range c.song.Sections {
		s := &c.song.Sections[i]
		if cue.Fade.Time == 0 && end > cue.At && end == s.Start {
			list = append(list, "fade lands on the downbeat of "+s.Name)
		}
		if stop := s.Start + s.Length; cue.At >= s.Start && cue.At < stop && end > stop {
			list = append(list, "fade outlasts the section")
		}
	}
	for _, i := range cue.Sends {
		list = append(list, "sends "+c.p.Sends[i].Text)
	}
	return list
}

// fadeEnd is where a cue's fade is over, as planned.
func (c *cues) fadeEnd(cue *engine.Cue) clock.Beat {
	if cue.Fade.Time > 0 {
		return c.song.BeatAt(c.song.TimeAt(cue.At) + cue.Fade.Time)
	}
	return c.song.PlaceAfter(cue.At, cue.Fade.Length)
}

// allDark is a level that is dark to people who must find their way.
const allDark = 0.05

// dark reports whether a cue leaves every head all but dark that songs light.
func (c *cues) dark(cue *engine.Cue) bool {
	if len(cue.Effects) > 0 {
		return false
	}
	level := make([]float64, len(c.p.Heads))
	for i := range cue.Parts {
		part := &cue.Parts[i]
		for _, h := range part.Heads {
			if part.Sets(fixtures.Intensity) && !c.p.Heads[h].Keep {
				level[h] = part.Values[fixtures.Intensity]
			}
		}
	}
	return slices.Max(append(level, 0)) <= allDark
}

func (c *cues) darkness(cue *engine.Cue) string {
	for i := range c.song.Cues {
		if next := &c.song.Cues[i]; next.At > cue.At && !next.SendsOnly {
			if next.At >= c.song.Length() {
				break
			}
			return "stage all but dark for " + count(c.song.BeatsUntil(cue.At, next.At), "beat")
		}
	}
	return "stage all but dark to the end"
}
