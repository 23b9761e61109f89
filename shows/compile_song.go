package shows

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
	"tactus/shows/position"
)

// readMeters lists the meters of all songs, and 4/4, which holds outside songs: effects
// are checked in each.
func (c *compiler) readMeters() {
	c.meters = append(c.meters, engine.Meter{Upper: 4, Lower: 4})
	read := func(v *language.Value) {
		if m := v.Get("meter"); m != nil {
			c.meters = append(c.meters, m.Meter())
		}
	}
	for _, f := range c.songs {
		read(f.Root)
		for _, item := range f.Root.Get("sections").Items() {
			for _, e := range item.All() {
				read(e.Value)
			}
		}
		for _, item := range f.Root.Get("changes").Items() {
			read(item)
		}
	}
}

func (c *compiler) compileSongs() {
	c.songOf = map[string]int32{}
	for i, f := range c.songs {
		name := f.Root.Get("song")
		if name != nil {
			if other, ok := c.songOf[name.Text]; ok {
				c.At(name, fmt.Sprintf("%s has a song %q already", c.songs[other].Name, name.Text), "", "")
			}
			c.songOf[name.Text] = int32(i)
		}
		c.songAt = append(c.songAt, name)
		c.program.Songs = append(c.program.Songs, c.song(f.Root))
	}
	for i, f := range c.songs {
		stem := StemOf(f.Name)
		if other, ok := c.songOf[stem]; ok && other != int32(i) {
			c.At(c.songAt[other], fmt.Sprintf("the song is called like the file %s", f.Name), "", "")
		}
		c.songOf[stem] = int32(i)
	}
}

func (c *compiler) songFiles() (names []string) {
	for _, f := range c.songs {
		names = append(names, f.Name)
	}
	return names
}

// StemOf returns the name of a file without its folder and ending; it names a song or
// set too.
func StemOf(name string) string { return strings.TrimSuffix(path.Base(name), path.Ext(name)) }

func (c *compiler) song(v *language.Value) engine.Song {
	characters := c.charactersOf(v.Get("character"))
	c.songCharacters = append(c.songCharacters, characters)
	s := engine.Song{
		Name: v.Get("song").Word(), Meter: v.Get("meter").Meter(), Program: -1,
		Palette: c.songPalette(v, characters), Tempo: clock.BPM(120),
		Deep: deepColoursOf(v.Get("deep colours"), c.program.HouseDeep),
	}
	if t := v.Get("tempo"); t != nil {
		s.Tempo = c.quarters(t, s.Meter)
	}
	if f := v.Get("flashing"); f != nil {
		s.Flashes, s.FlashWhy = int8(f.Get("up to").Num(0)), f.Get("because").Word()
	}
	if p := v.Get("program"); p != nil {
		s.Program = int16(p.Number - 1)
	}
	c.sections(&s, v.Get("sections"), changesOf(v))
	c.sectionNotes(&s, v.Get("sections"))
	c.callSections(&s)
	t := cueBuilder{c: c, song: &s, at: map[spot]*language.Value{}, fade: (*language.Value)(nil).Span()}
	t.collect(v)
	s.Cues, s.Variants = t.cues()
	return s
}

// sections compiles the sections of a song and numbers names that come more than once.
func (c *compiler) sections(s *engine.Song, v *language.Value, changes []*change) {
	count := map[string]int{}
	for _, item := range v.Items() {
		for _, e := range item.All() {
			count[e.Key.Text]++
		}
	}
	nth, seen := map[string]int{}, map[string]*language.Value{}
	for _, item := range v.Items() {
		for _, e := range item.All() {
			name := e.Key.Text
			if count[name] > 1 {
				nth[name]++
				name = fmt.Sprintf("%s %d", name, nth[name])
			}
			if other := seen[name]; other != nil {
				c.Clash(e.Key, fmt.Sprintf("a second section is called %q", name), fmt.Sprintf("the first is on line %d", other.Line), other.Line)
			}
			seen[name] = e.Key
			own := changes
			if x := ownChange(name, e.Key, e.Value); x != nil {
				own = append([]*change{x}, changes...)
			}
			length := c.addChanges(s, name, int(e.Value.Get("bars").Num(1)), own)
			s.Sections = append(s.Sections, engine.Section{
				Name: name, Start: s.Length(), Length: length, Note: engine.NoNote, Energy: int8(e.Value.Get("energy").Num(0)),
				Climb: int8(e.Value.Get("climb").Num(0)), Loop: e.Value.Get("loop").IsYes(false), Spoken: e.Value.Get("spoken").IsYes(false),
				Sung: e.Value.Get("sung").IsYes(!isInstrumental(name)),
			})
		}
	}
	c.unusedChanges(s, changes)
}

// Timeline compiles the time of one song without its show: name, sections, and tempo
// and meter with their changes. Notes, colours and cues are left out. f is a song's
// file without faults.
func Timeline(f *language.File) (engine.Song, language.Problems) {
	c, v := &compiler{}, f.Root
	s := engine.Song{Name: v.Get("song").Word(), Meter: v.Get("meter").Meter(), Tempo: clock.BPM(120), Program: -1}
	if t := v.Get("tempo"); t != nil {
		s.Tempo = c.quarters(t, s.Meter)
	}
	c.sections(&s, v.Get("sections"), changesOf(v))
	return s, c.List.Sorted()
}

// isInstrumental reports whether nobody sings in sections of a name, as a rule (common
// practice, no source).
func isInstrumental(name string) bool {
	return slices.Contains([]string{
		"intro", "outro", "ending", "instrumental", "interlude", "solo", "guitar solo", "break", "breakdown", "turnaround", "vamp", "build", "drop",
	}, position.BaseName(strings.ToLower(name)))
}

// sectionNotes gives each section its own note, or the next free one upwards from the
// first section note.
func (c *compiler) sectionNotes(s *engine.Song, v *language.Value) {
	taken := map[int64]string{}
	own := make([]*language.Value, 0, len(s.Sections))
	for _, item := range v.Items() {
		for _, e := range item.All() {
			n := e.Value.Get("note")
			own = append(own, n)
			if n == nil {
				continue
			}
			if other := taken[n.Number]; other != "" {
				c.At(n, fmt.Sprintf("note %d enters %q already", n.Number, other), "give each section a note of its own", "")
			}
			taken[n.Number] = s.Sections[len(own)-1].Name
		}
	}
	next := c.show.Get("daw").Get("first section note").Num(language.FirstSectionNote)
	for i := range s.Sections {
		if own[i] != nil {
			s.Sections[i].Note = uint8(own[i].Number)
			continue
		}
		for taken[next] != "" {
			next++
		}
		if next > 127 {
			c.At(v, fmt.Sprintf("no note is left for section %q", s.Sections[i].Name), "want a smaller \"first section note\" in show.yaml, or a \"note\" of its own for each section", "")
			return
		}
		taken[next] = s.Sections[i].Name
		s.Sections[i].Note = uint8(next)
	}
}
