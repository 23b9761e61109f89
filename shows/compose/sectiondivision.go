package compose

import (
	"fmt"
	"slices"

	"tactus/shows/language"
)

// SplitSection makes two sections of one. Both have its name and energy; its light begins
// with the first and goes on through the second. The music stays in place.
type SplitSection struct {
	Song    string `json:"song"`
	Section int    `json:"section"`
	Bars    int    `json:"bars"` // of the first
}

// Do returns "split section".
func (e *SplitSection) Do() string { return "split section" }

// Words says what the edit does.
func (e *SplitSection) Words() string {
	return fmt.Sprintf("section %d of %s split after %s", e.Section+1, e.Song, language.Count(int64(e.Bars), "bar"))
}

func (e *SplitSection) edit(f *files) error {
	t, at, err := sectionOf(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	whole := int(t.bars[e.Section])
	if e.Bars < 1 || e.Bars >= whole {
		return refuse(e.Song, 0, fmt.Sprintf("the section cannot be split after %s", language.Count(int64(e.Bars), "bar")), fmt.Sprintf("it has %d", whole))
	}
	if t.song.Sections[e.Section].Loop {
		return refuse(e.Song, 0, "the section loops, so it cannot be split", "take its loop away first")
	}
	r := t.unmoved()
	r.inPlace = true
	r.ends[e.Section] = e.Section + 1
	for i := e.Section + 1; i < len(t.keys); i++ {
		r.begins[i], r.ends[i] = i+1, i+1
	}
	second := sectionValue(t.keys[e.Section], whole-e.Bars, int(t.song.Sections[e.Section].Energy))
	for _, key := range []string{"climb", "spoken", "sung"} {
		node, err := f.node(e.Song, at.under(key))
		if err != nil {
			return err
		}
		if node != nil {
			second.values[0].put(key, valueOf(node))
		}
	}
	return rearrange(f, e.Song, r, false, func() error {
		if err := f.set(e.Song, at.under("bars"), Number(e.Bars)); err != nil {
			return err
		}
		return f.insert(e.Song, place{"sections"}, e.Section+1, second)
	})
}

// JoinSections makes one section of one and the next. The light of the second becomes a
// cue at its place. What else the second has, such as name, energy and MIDI note, is dropped.
// The music stays in place.
type JoinSections struct {
	Song    string `json:"song"`
	Section int    `json:"section"` // the first of the two
}

// Do returns "join sections".
func (e *JoinSections) Do() string { return "join sections" }

// Words says what the edit does.
func (e *JoinSections) Words() string {
	return fmt.Sprintf("sections %d and %d of %s joined", e.Section+1, e.Section+2, e.Song)
}

// cueKeys are the keys that sections and cues have in common, in the order in which new
// cues have them.
func cueKeys() []string {
	return []string{"look", "fade", "colour fade", "effects", "set", "send"}
}

func (e *JoinSections) edit(f *files) error {
	t, first, err := sectionOf(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	second, err := t.section(e.Song, e.Section+1)
	if err != nil {
		return err
	}
	light, err := e.lightOf(f, t, second)
	if err != nil {
		return err
	}
	r := t.unmoved()
	r.inPlace = true
	r.ends[e.Section] = -1
	r.begins[e.Section+1], r.ends[e.Section+1] = -1, e.Section
	for i := e.Section + 2; i < len(t.keys); i++ {
		r.begins[i], r.ends[i] = i-1, i-1
	}
	whole := int(t.bars[e.Section] + t.bars[e.Section+1])
	err = rearrange(f, e.Song, r, false, func() error {
		if err := f.set(e.Song, first.under("bars"), Number(whole)); err != nil {
			return err
		}
		return f.removeItem(e.Song, place{"sections", e.Section + 1})
	})
	if err != nil || len(light.keys) == 0 {
		return err
	}
	return placeCue(f, e.Song, r.inBar(t.starts[e.Section+1], ""), light)
}

// lightOf returns the light of a section as a cue has it, without its place.
func (e *JoinSections) lightOf(f *files, t *timeline, at place) (Value, error) {
	light := Value{given: true}
	keys, err := f.keys(e.Song, at)
	if err != nil {
		return light, err
	}
	a, b := &t.song.Sections[e.Section], &t.song.Sections[e.Section+1]
	for _, key := range keys {
		if slices.Contains([]string{"tempo", "meter", "build", "loop"}, key) || key == "spoken" && a.Spoken != b.Spoken {
			return light, refuse(e.Song, 0, fmt.Sprintf("the second section has %q of its own", key), "take it away first")
		}
	}
	if a.Loop {
		return light, refuse(e.Song, 0, "the first section loops", "take its loop away first")
	}
	for _, key := range cueKeys() {
		node, err := f.node(e.Song, at.under(key))
		if err != nil {
			return light, err
		}
		if node != nil {
			light.put(key, valueOf(node))
		}
	}
	return light, nil
}
