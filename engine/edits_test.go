package engine

import (
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/fixtures"
)

// edit changes the show while it is played, as a script asks: "lengthen verse by
// 2 bars", "dim full to 50 %", "strike bridge".
func (s *stage) edit(verb, rest string) error {
	to := edited(s.engine.prog)
	var err error
	switch name, rest, _ := cutLast(rest); verb {
	case "dim":
		err = dimLook(to, name, rest)
	default:
		if s.engine.play.song == None {
			return fmt.Errorf("no song")
		}
		song := &to.Songs[s.engine.play.song]
		i := slices.IndexFunc(song.Sections, func(s Section) bool { return s.Name == name })
		if i < 0 {
			return fmt.Errorf("no section %q", name)
		}
		if verb == "strike" {
			song.strike(i)
			break
		}
		var bars int64
		_, err = fmt.Sscanf(rest, "%d bars", &bars)
		song.lengthen(i, clock.Beat(bars)*song.Meter.Bar())
	}
	if err != nil {
		return err
	}
	r, err := NewReload(s.engine.prog, to)
	if err != nil {
		return err
	}
	if !s.engine.Reload(r, s.pos) {
		return fmt.Errorf("not taken")
	}
	return nil
}

// cutLast splits "verse by 2 bars" and "full to 50 %".
func cutLast(text string) (name, rest string, ok bool) {
	for _, word := range []string{" by ", " to "} {
		if name, rest, ok = strings.Cut(text, word); ok {
			return name, rest, true
		}
	}
	return text, "", false
}

// dimLook takes the lamps of every cue of that name to a level.
func dimLook(p *Program, name, level string) error {
	n, err := number(strings.TrimSuffix(level, " %"))
	found := false
	for i := range p.Songs {
		for j := range p.Songs[i].Cues {
			c := &p.Songs[i].Cues[j]
			if c.Name != name {
				continue
			}
			found = true
			for k := range c.Parts {
				if slices.Contains(c.Parts[k].Heads, lamp1) {
					c.Parts[k].Values[fixtures.Intensity] = n / 100
				}
			}
		}
	}
	if err == nil && !found {
		return fmt.Errorf("no look %q", name)
	}
	return err
}

// strike takes a section and its cues out.
func (s *Song) strike(section int) {
	start, length := s.Sections[section].Start, s.Sections[section].Length
	s.Cues = slices.DeleteFunc(s.Cues, func(c Cue) bool { return c.At >= start && c.At < start+length })
	s.lengthen(section, -length)
	s.Sections = slices.Delete(s.Sections, section, section+1)
	for i := range s.Cues { // a pickup names its section by its place
		if p := int(s.Cues[i].Pickup); p > section+1 {
			s.Cues[i].Pickup--
		}
	}
}

// lampBlack is a song whose cues move colour and intensity each in its own time.
func lampBlack() Song {
	m := Meter{4, 4}
	own := func(c Cue, tint Span) Cue {
		c.ColourFade = &tint
		return c
	}
	return Song{
		Name: "Lamp Black", Tempo: clock.BPM(120), Meter: m, Program: 8,
		Palette:  Palette{Main: {1, 0, 0}, Second: {0, 0, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
		Sections: sections(m, "verse", 2.0, "chorus", 2.0, "outro", 2.0),
		Cues: []Cue{
			named("calm", cue(snap, level(washes, 0.2, Second))),
			at(8*quarter, own(named("full", cue(beats(4), level(washes, 1, Main))), snap)),
			at(16*quarter, own(named("dusk", cue(snap, level(washes, 0.5, Accent))), beats(4))),
		},
	}
}
