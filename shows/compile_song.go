package shows

import (
	"fmt"
	"path"
	"strings"

	"tactus/clock"
	"tactus/engine"
)

// readMeters looks ahead, for effects are checked in the meters of all songs and
// in 4/4, which holds outside songs.
func (c *compiler) readMeters() {
	c.meters = append(c.meters, engine.Meter{Upper: 4, Lower: 4})
	read := func(v *value) {
		if m := v.get("meter"); m != nil {
			c.meters = append(c.meters, m.meter())
		}
	}
	for _, f := range c.songs {
		read(f.root)
		for _, item := range f.root.get("sections").items() {
			for _, e := range item.all() {
				read(e.value)
			}
		}
		for _, item := range f.root.get("changes").items() {
			read(item)
		}
	}
}

func (c *compiler) compileSongs() {
	c.songOf = map[string]int32{}
	for i, f := range c.songs {
		name := f.root.get("song")
		if name != nil {
			if other, ok := c.songOf[name.text]; ok {
				c.at(name, fmt.Sprintf("%s has a song %q already", c.songs[other].Name, name.text), "", "")
			}
			c.songOf[name.text] = int32(i)
		}
		c.songAt = append(c.songAt, name)
		c.program.Songs = append(c.program.Songs, c.song(f.root))
	}
	for i, f := range c.songs {
		stem := stemOf(f.Name)
		if other, ok := c.songOf[stem]; ok && other != int32(i) {
			c.at(c.songAt[other], fmt.Sprintf("the song is called like the file %s", f.Name), "", "")
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

func stemOf(name string) string { return strings.TrimSuffix(path.Base(name), path.Ext(name)) }

func (c *compiler) song(v *value) engine.Song {
	s := engine.Song{
		Name: v.get("song").word(), Meter: v.get("meter").meter(), Program: -1,
		Palette: c.paletteOf(v.get("palette"), c.program.House), Tempo: clock.BPM(120),
	}
	if t := v.get("tempo"); t != nil {
		s.Tempo = c.quarters(t, s.Meter)
	}
	if f := v.get("flashing"); f != nil {
		s.Flashes, s.FlashWhy = int8(f.get("up to").num(0)), f.get("because").word()
	}
	if p := v.get("program"); p != nil {
		s.Program = int16(p.number - 1)
	}
	c.sections(&s, v.get("sections"), changesOf(v))
	c.callSections(&s)
	t := tracker{c: c, song: &s, at: map[spot]*value{}, fade: (*value)(nil).span()}
	t.collect(v)
	s.Cues, s.Variants = t.cues()
	return s
}

// sections lays out the parts of a song, numbers names that come more than
// once, and gives out notes.
func (c *compiler) sections(s *engine.Song, v *value, changes []*change) {
	count := map[string]int{}
	for _, item := range v.items() {
		for _, e := range item.all() {
			count[e.key.text]++
		}
	}
	nth, seen := map[string]int{}, map[string]*value{}
	for _, item := range v.items() {
		for _, e := range item.all() {
			name := e.key.text
			if count[name] > 1 {
				nth[name]++
				name = fmt.Sprintf("%s %d", name, nth[name])
			}
			if other := seen[name]; other != nil {
				c.at(e.key, fmt.Sprintf("a second section is called %q", name), fmt.Sprintf("the first is on line %d", other.line), "")
			}
			seen[name] = e.key
			own := changes
			if x := ownChange(name, e.key, e.value); x != nil {
				own = append([]*change{x}, changes...)
			}
			length := c.lay(s, name, int(e.value.get("bars").num(1)), own)
			s.Sections = append(s.Sections, engine.Section{
				Name: name, Start: s.Length(), Length: length, Note: engine.NoNote, Energy: int8(e.value.get("energy").num(0)),
				Climb: int8(e.value.get("climb").num(0)), Loop: e.value.get("loop").is(false), Spoken: e.value.get("spoken").is(false),
			})
		}
	}
	c.unusedChanges(s, changes)
	c.sectionNotes(s, v)
}

// sectionNotes gives every section the note it names, and the others the free
// ones upwards from the first section note.
func (c *compiler) sectionNotes(s *engine.Song, v *value) {
	taken := map[int64]string{}
	own := make([]*value, 0, len(s.Sections))
	for _, item := range v.items() {
		for _, e := range item.all() {
			n := e.value.get("note")
			own = append(own, n)
			if n == nil {
				continue
			}
			if other := taken[n.number]; other != "" {
				c.at(n, fmt.Sprintf("note %d enters %q already", n.number, other), "give each section a note of its own", "")
			}
			taken[n.number] = s.Sections[len(own)-1].Name
		}
	}
	next := c.show.get("daw").get("first section note").num(firstSectionNote)
	for i := range s.Sections {
		if own[i] != nil {
			s.Sections[i].Note = uint8(own[i].number)
			continue
		}
		for taken[next] != "" {
			next++
		}
		if next > 127 {
			c.at(v, fmt.Sprintf("no note is left for section %q", s.Sections[i].Name), "want a smaller \"first section note\" in show.yaml, or a \"note\" of its own for each section", "")
			return
		}
		taken[next] = s.Sections[i].Name
		s.Sections[i].Note = uint8(next)
	}
}
