package paper

import (
	"fmt"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
)

// watchSection lists the unusual things in a section that an operator should watch.
func (c *cues) watchSection(i int32) (list []string) {
	s := &c.song.Sections[i]
	if s.Note > 127 {
		list = append(list, "no note: follows the song position")
	}
	if s.Loop {
		list = append(list, "loops until another section is entered")
	}
	if s.Spoken {
		list = append(list, "someone speaks: faces stay lit")
	}
	for _, m := range c.song.Meters {
		if m.At >= s.Start && m.At < s.Start+s.Length {
			list = append(list, fmt.Sprintf("%sin %s", c.fromWords(s, m.At), m.Meter))
		}
	}
	for _, t := range c.song.Tempos {
		if t.At >= s.Start && t.At < s.Start+s.Length {
			list = append(list, fmt.Sprintf("%s%.4g BPM", c.fromWords(s, t.At), c.song.MeterAt(t.At).PerBeat(t.Tempo).BPM()))
		}
	}
	return list
}

// fromWords prints "from PLACE " for a place in a section, or "" at its start.
func (c *cues) fromWords(s *engine.Section, at clock.Beat) string {
	if at == s.Start {
		return ""
	}
	_, words, _ := c.place(at)
	return "from " + words + " "
}

// watchCue lists the unusual things in a cue that an operator should watch.
func (c *cues) watchCue(cue *engine.Cue) (list []string) {
	if cue.Pickup > 0 {
		list = append(list, "pickup into "+c.song.Sections[cue.Pickup-1].Name)
	}
	if shows.IsDark(c.p, cue) {
		list = append(list, c.darkness(cue))
	}
	end := shows.FadeEnd(c.song, cue)
	for i := range c.song.Sections {
		if s := &c.song.Sections[i]; !cue.SendsOnly && cue.Fade.Time == 0 && end > cue.At && end == s.Start {
			list = append(list, "fade lands on the downbeat of "+s.Name)
		}
	}
	if _, long := shows.LongFade(c.song, cue); long {
		list = append(list, "fade outlasts the section")
	}
	for _, i := range cue.Sends {
		list = append(list, "sends "+c.p.Sends[i].Text)
	}
	return list
}

// darkness prints how many beats the stage stays dark after a dark cue.
func (c *cues) darkness(cue *engine.Cue) string {
	for i := range c.song.Cues {
		if next := &c.song.Cues[i]; next.At > cue.At && !next.SendsOnly {
			if next.At >= c.song.Length() {
				break
			}
			return "stage all but dark for " + language.Count(c.song.BeatsUntil(cue.At, next.At), "beat")
		}
	}
	return "stage all but dark to the end"
}
