package paper

import (
	"fmt"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
)

// cueSheet returns the cue sheet of a song: a row for every section and every cue.
func cueSheet(s *shows.Show, index int32) Leaf {
	p := s.Program
	song := &p.Songs[index]
	c := cues{p: p, song: song}
	next := 0
	for ; next < len(song.Cues) && song.Cues[next].At < 0; next++ {
		c.cue(&song.Cues[next])
	}
	for i := range song.Sections {
		section := &song.Sections[i]
		var at *engine.Cue
		if next < len(song.Cues) && song.Cues[next].At == section.Start {
			at = &song.Cues[next]
			next++
		}
		c.section(int32(i), at)
		for ; next < len(song.Cues) && song.Cues[next].At < section.Start+section.Length; next++ {
			c.cue(&song.Cues[next])
		}
	}
	for ; next < len(song.Cues); next++ {
		c.cue(&song.Cues[next])
	}
	return Leaf{
		Title: song.Name,
		Under: fmt.Sprintf("%s, %s, %s as planned%s", song.Meter, tempoWords(song), language.Minutes(s.Length([]int32{index})), programWords(p, index)),
		Words: []string{channels(&p.Notes)},
		Tables: []Grid{{
			Heads: []string{"bar", "section", "note", "look", "effects", "fade", "what to watch"},
			Share: []float64{.07, .19, .12, .13, .17, .10, .22},
			Rows:  c.rows, Bold: 3,
		}},
	}
}

type cues struct {
	p     *engine.Program
	song  *engine.Song
	rows  []Line
	first int64 // bars before the next section
}

func (c *cues) section(i int32, cue *engine.Cue) {
	s := &c.song.Sections[i]
	bars := c.song.SectionBars(i)
	row := Line{
		Cells:  []string{fmt.Sprint(c.first + 1), fmt.Sprintf("%s, %s", s.Name, language.Count(bars, "bar")), noteWords(s.Note), "as before", "", "", ""},
		Strong: true, Energy: int(s.Energy),
	}
	watch := c.watchSection(i)
	if cue != nil {
		copy(row.Cells[3:], c.lightCells(cue))
		watch = append(watch, c.watchCue(cue)...)
	}
	row.Cells[6] = strings.Join(watch, "; ")
	c.rows = append(c.rows, row)
	c.first += bars
}

func (c *cues) cue(cue *engine.Cue) {
	at := position.Name(c.song, cue.At)
	bar := "-"
	if n, words, ok := c.place(cue.At); ok {
		bar, at = fmt.Sprint(n), words
	}
	row := Line{Cells: []string{bar, at, "", "", "", "", strings.Join(c.watchCue(cue), "; ")}, Energy: -1}
	copy(row.Cells[3:], c.lightCells(cue))
	c.rows = append(c.rows, row)
}

// place returns a cue's bar in the song, from 1, and words for its place in its
// section: "bar 3 beat 2". ok is false outside the song.
func (c *cues) place(at clock.Beat) (bar int64, words string, ok bool) {
	if at < 0 || at >= c.song.Length() {
		return 0, "", false
	}
	for i := range c.song.Sections {
		if s := &c.song.Sections[i]; at < s.Start+s.Length {
			in, start, meter := c.song.BarAt(at)
			if beat := (at-start)/meter.Beat() + 1; beat > 1 {
				return bar + in + 1, fmt.Sprintf("bar %d beat %d", in+1, beat), true
			}
			return bar + in + 1, fmt.Sprintf("bar %d", in+1), true
		}
		bar += c.song.SectionBars(int32(i))
	}
	return 0, "", false
}

// lightCells returns the cells for the look, the effects and the fade of a cue.
func (c *cues) lightCells(cue *engine.Cue) []string {
	if cue.SendsOnly {
		return []string{"as before", "", ""}
	}
	var effects []string
	for _, e := range cue.Effects {
		effects = append(effects, c.p.Effects[e].Name)
	}
	if b := cue.Build; b != nil && b.From == cue.At {
		word := "grows"
		if b.Ebbs {
			word = "ebbs"
		}
		effects = append(effects, word+" to the section's end")
	}
	fade := fadeWords(cue.Fade)
	if cue.ColourFade != nil {
		fade += ", colour " + fadeWords(*cue.ColourFade)
	}
	return []string{cue.Name, strings.Join(effects, ", "), fade}
}

func tempoWords(s *engine.Song) string {
	words := fmt.Sprintf("%.4g BPM", s.Meter.PerBeat(s.Tempo).BPM())
	if len(s.Tempos) > 0 {
		words += " at first"
	}
	return words
}

// programWords names the program number of a song, or returns "" if none selects it.
func programWords(p *engine.Program, index int32) string {
	if n := p.Songs[index].Program; n >= 0 {
		return fmt.Sprintf(", program %d", n+1)
	}
	return ""
}

// channels describes what a section's note does on each channel.
func channels(n *engine.Notes) string {
	var words []string
	if n.Fire != 0 {
		words = append(words, fmt.Sprintf("on channel %d it enters the section at once", n.Fire))
	}
	for when, c := range n.Arm {
		if c == 0 {
			continue
		}
		at := engine.When(when).String()
		if engine.When(when) == engine.SectionEnd {
			at = "end of the section"
		}
		words = append(words, fmt.Sprintf("on channel %d it arms it for the next %s", c, at))
	}
	if len(words) == 0 {
		return "No channel listens to section notes: sections follow the song position."
	}
	return "A section's note: " + strings.Join(words, ", ") + "."
}
