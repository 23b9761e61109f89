package compose

import (
	"fmt"
	"regexp"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
)

// timeline is a song's sections with their bars, as they are before or after an edit.
type timeline struct {
	song   engine.Song
	starts []int64 // bar in which each section begins, from 0
	bars   []int64 // of each section
	keys   []string
}

// timelineOf returns the sections of a song's file. The file must have no faults of its
// own, so that positions in it are known.
func timelineOf(f *files, name string) (*timeline, error) {
	if err := needSong(f, name); err != nil {
		return nil, err
	}
	file, err := f.file(name)
	if err != nil {
		return nil, err
	}
	song, problems := shows.Timeline(file)
	if file.Faulty || len(problems) > 0 || len(song.Sections) == 0 {
		return nil, refuse(name, 0, "the song has faults, so its sections cannot be edited", "correct the faults first")
	}
	t := &timeline{song: song}
	next := int64(0)
	for i := range song.Sections {
		n := song.SectionBars(int32(i))
		t.starts, t.bars = append(t.starts, next), append(t.bars, n)
		next += n
	}
	for _, item := range file.Root.Get("sections").Items() {
		t.keys = append(t.keys, item.All()[0].Key.Text)
	}
	return t, nil
}

// section returns the place of a section's keys in the file, or an error if the song has
// no such section.
func (t *timeline) section(file string, i int) (place, error) {
	if i < 0 || i >= len(t.keys) {
		return nil, noSuch(file, "section", i, len(t.keys))
	}
	return place{"sections", i, t.keys[i]}, nil
}

// sectionOf returns the sections of a song's file, and the place of the keys of one.
func sectionOf(f *files, song string, i int) (*timeline, place, error) {
	t, err := timelineOf(f, song)
	if err != nil {
		return nil, nil, err
	}
	at, err := t.section(song, i)
	return t, at, err
}

// total returns the number of bars of the song.
func (t *timeline) total() int64 {
	last := len(t.bars) - 1
	return t.starts[last] + t.bars[last]
}

// rearrangement says where the sections of a song are after an edit.
type rearrangement struct {
	before, after *timeline
	begins        []int // by old section: the section that begins where it began; -1: none
	ends          []int // by old section: the section that ends where it ended; -1: none
	// inPlace: the music stays in place, and only its division changes. Bars keep their number
	// in the song; a place without a bar, such as "bridge - 1 beat", still follows its section.
	inPlace bool
}

// unmoved returns the rearrangement in which each section stays.
func (t *timeline) unmoved() *rearrangement {
	n := len(t.keys)
	r := &rearrangement{before: t, begins: make([]int, n), ends: make([]int, n)}
	for i := range n {
		r.begins[i], r.ends[i] = i, i
	}
	return r
}

var barOf = regexp.MustCompile(`, bar ([1-9][0-9]*)(?: beat [1-9][0-9]*)?$`)

// place returns a position of the song before the edit as it is called after it; gone
// reports that its section is no longer there.
func (r *rearrangement) place(text string) (now string, gone bool) {
	at, shift := text, ""
	if m := position.Shift.FindStringSubmatch(text); m != nil {
		at, shift = m[1], text[len(m[1]):]
	}
	bar, beat := int64(1), ""
	section, atStart := at, true // at the section's start or end, or counted from there
	if m := barOf.FindStringSubmatchIndex(at); m != nil {
		section, beat = at[:m[0]], at[m[3]:]
		fmt.Sscan(at[m[2]:m[3]], &bar)
		atStart = bar == 1 && (beat == "" || beat == " beat 1") && shift == ""
	}
	i, isEnd, fault := position.FindSection(&r.before.song, section)
	if fault != nil {
		return text, false // the loader says so
	}
	suffix := at[len(section):]
	switch {
	case isEnd && r.ends[i] >= 0:
		return r.name(r.ends[i]) + " end" + suffix + shift, false
	case !isEnd && r.begins[i] >= 0 && (!r.inPlace || atStart):
		return r.name(r.begins[i]) + suffix + shift, false
	case !r.inPlace:
		return text, true
	case isEnd:
		return r.inBar(r.before.starts[i]+r.before.bars[i]+bar-1, beat) + shift, false
	}
	return r.inBar(r.before.starts[i]+bar-1, beat) + shift, false
}

func (r *rearrangement) name(i int) string { return r.after.song.Sections[i].Name }

// inBar names a bar of the song, counted from 0, as it is called after the edit.
func (r *rearrangement) inBar(bar int64, beat string) string {
	if bar >= r.after.total() {
		return r.name(len(r.after.bars)-1) + " end"
	}
	i := len(r.after.starts) - 1
	for r.after.starts[i] > bar {
		i--
	}
	if bar == r.after.starts[i] && beat == "" {
		return r.name(i)
	}
	return fmt.Sprintf("%s, bar %d%s", r.name(i), bar-r.after.starts[i]+1, beat)
}

// section returns the name of the section in which an old one begins after the edit.
func (r *rearrangement) section(text string) (now string, gone bool) {
	i, isEnd, fault := position.FindSection(&r.before.song, text)
	switch {
	case fault != nil || isEnd:
		return text, false
	case r.begins[i] >= 0:
		return r.name(r.begins[i]), false
	case !r.inPlace:
		return text, true
	}
	bar := r.before.starts[i]
	for j := len(r.after.starts) - 1; j >= 0; j-- {
		if r.after.starts[j] <= bar {
			return r.name(j), false
		}
	}
	return text, false
}

// rearrange changes a song's sections, and then every position in its file, so that each
// still means the same section and bar. What stands in a section that goes is removed if
// remove is set; else the edit is refused.
func rearrange(f *files, name string, r *rearrangement, remove bool, change func() error) (err error) {
	if err := change(); err != nil {
		return err
	}
	if _, problems := f.loader.Parse(name, f.sources[name]); len(problems) > 0 {
		return problems
	}
	if r.after, err = timelineOf(f, name); err != nil {
		return err
	}
	for _, list := range []struct {
		key, at string
		now     func(string) (string, bool)
	}{{"cues", "at", r.place}, {"changes", "at", r.place}, {"accepted", "in", r.section}} {
		if err := moveAll(f, name, list.key, list.at, remove, list.now); err != nil {
			return err
		}
	}
	return nil
}

// moveAll rewrites the positions of a list in a song's file.
func moveAll(f *files, name, list, key string, remove bool, now func(string) (string, bool)) error {
	n, err := f.count(name, place{list})
	if err != nil {
		return err
	}
	for i := n - 1; i >= 0; i-- {
		at := place{list, i, key}
		node, err := f.node(name, at)
		if err != nil {
			return err
		}
		if node == nil {
			continue
		}
		text, gone := now(node.Value)
		switch {
		case gone && !remove:
			return refuse(name, node.Line, fmt.Sprintf("%q stands in the section that would go", language.Shorten(node.Value)), "move or remove it first")
		case gone:
			err = f.prune(name, place{list, i}, 1)
		case text != node.Value:
			before := f.sources[name]
			if err = f.replace(name, at, Text(text)); err == nil {
				f.put(name, sealedAgain(before, f.sources[name]))
			}
		}
		if err != nil {
			return err
		}
	}
	return nil
}
