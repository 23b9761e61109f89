package compose

import (
	"fmt"
	"slices"

	"tactus/shows/language"
	"tactus/shows/position"
	"tactus/shows/yamltext"
)

// PlaceCue adds a cue to a song, before the first that comes later.
type PlaceCue struct {
	Song    string   `json:"song"`
	At      string   `json:"at"`                // such as "chorus 2, bar 3 beat 1"
	In      string   `json:"in,omitempty"`      // the passes in which it acts: first, again, last, "pass 3"
	Look    string   `json:"look,omitempty"`    // to change to
	Fade    string   `json:"fade,omitempty"`    // such as "2 beats"
	Effects []string `json:"effects,omitempty"` // from there on
	Set     Value    `json:"set,omitempty"`     // levels by group: {"fronts": {"intensity": "30 %"}}
}

// Do returns "place cue".
func (e *PlaceCue) Do() string { return "place cue" }

// Words says what the edit does.
func (e *PlaceCue) Words() string { return fmt.Sprintf("cue at %s of %s", e.At, e.Song) }

func (e *PlaceCue) edit(f *files) error {
	rest := Value{given: true}
	for _, text := range []struct{ key, text string }{{"in", e.In}, {"look", e.Look}, {"fade", e.Fade}} {
		if text.text != "" {
			rest.put(text.key, Text(text.text))
		}
	}
	if e.Effects != nil {
		rest.put("effects", namesValue(e.Effects))
	}
	if e.Set.given {
		rest.put("set", e.Set)
	}
	return placeCue(f, e.Song, e.At, rest)
}

// placeCue adds a cue at a place of a song. rest has its other keys.
func placeCue(f *files, song, at string, rest Value) error {
	t, err := timelineOf(f, song)
	if err != nil {
		return err
	}
	beat, fault := position.FindForCue(&t.song, at)
	if fault != nil {
		return language.Problems{{File: song, What: fault.What, Allowed: fault.Allowed, Nearest: fault.Nearest}}
	}
	cue := object("at", Text(at))
	for i, key := range rest.keys {
		cue.put(key, rest.values[i])
	}
	n, err := f.count(song, place{"cues"})
	if err != nil {
		return err
	}
	if n == 0 {
		return f.inPlace(song, func(d *yamltext.Document) error {
			return d.AddList(nil, "cues", []string{cue.String()}, "sections")
		})
	}
	i := 0
	for ; i < n; i++ {
		node, err := f.node(song, place{"cues", i, "at"})
		if err != nil {
			return err
		}
		if node != nil {
			if other, fault := position.FindForCue(&t.song, node.Value); fault == nil && other > beat {
				break
			}
		}
	}
	return f.insert(song, place{"cues"}, i, cue)
}

// needCue returns an error unless the song has a cue of an index.
func needCue(f *files, song string, i int) error {
	if err := needSong(f, song); err != nil {
		return err
	}
	n, err := f.count(song, place{"cues"})
	if err == nil && (i < 0 || i >= n) {
		err = noSuch(song, "cue", i, n)
	}
	return err
}

// MoveCue gives a cue another place. It keeps its line in the file.
type MoveCue struct {
	Song string `json:"song"`
	Cue  int    `json:"cue"` // its index under "cues" in the file, from 0
	At   string `json:"at"`
}

// Do returns "move cue".
func (e *MoveCue) Do() string { return "move cue" }

// Words says what the edit does.
func (e *MoveCue) Words() string { return fmt.Sprintf("cue %d of %s at %s", e.Cue+1, e.Song, e.At) }

func (e *MoveCue) edit(f *files) error {
	if err := needCue(f, e.Song, e.Cue); err != nil {
		return err
	}
	return f.set(e.Song, place{"cues", e.Cue, "at"}, Text(e.At))
}

// RemoveCue removes a cue.
type RemoveCue struct {
	Song string `json:"song"`
	Cue  int    `json:"cue"`
}

// Do returns "remove cue".
func (e *RemoveCue) Do() string { return "remove cue" }

// Words says what the edit does.
func (e *RemoveCue) Words() string { return fmt.Sprintf("removing cue %d of %s", e.Cue+1, e.Song) }

func (e *RemoveCue) edit(f *files) error {
	if err := needCue(f, e.Song, e.Cue); err != nil {
		return err
	}
	return f.prune(e.Song, place{"cues", e.Cue}, 1)
}

// SetCue sets a key of a cue.
type SetCue struct {
	Song string `json:"song"`
	Cue  int    `json:"cue"`
	Key  string `json:"key"` // look, fade, colour fade, effects, set, in, lands, build or send
	To   Value  `json:"to"`  // null takes it away
}

// Do returns "set cue".
func (e *SetCue) Do() string { return "set cue" }

// Words says what the edit does.
func (e *SetCue) Words() string {
	return fmt.Sprintf("%s of cue %d of %s: %s", e.Key, e.Cue+1, e.Song, language.Shorten(e.To.String()))
}

func (e *SetCue) edit(f *files) error {
	if err := needCue(f, e.Song, e.Cue); err != nil {
		return err
	}
	if e.Key == "at" && !e.To.given {
		return refuse(e.Song, 0, "a cue has a place", `use "remove cue" to remove it`)
	}
	return setLight(f, e.Song, place{"cues", e.Cue}, e.Key, e.To)
}

// SetCueLevel sets a level that a cue gives to a group or fixture, in place of the look's.
type SetCueLevel struct {
	Song  string `json:"song"`
	Cue   int    `json:"cue"`
	On    string `json:"on"`    // a group, a fixture or a range of fixtures
	Level string `json:"level"` // as in SetSectionLevel
	To    Value  `json:"to"`    // such as "40 %"; null takes it away
}

// Do returns "set cue level".
func (e *SetCueLevel) Do() string { return "set cue level" }

// Words says what the edit does.
func (e *SetCueLevel) Words() string {
	return fmt.Sprintf("%s of %s in cue %d of %s: %s", e.Level, e.On, e.Cue+1, e.Song, language.Shorten(e.To.String()))
}

func (e *SetCueLevel) edit(f *files) error {
	if err := needCue(f, e.Song, e.Cue); err != nil {
		return err
	}
	at := place{"cues", e.Cue}
	if err := setLevel(f, e.Song, at, e.On, e.Level, e.To); err != nil || e.To.given {
		return err
	}
	return removeIdleFade(f, e.Song, at)
}

// setLight sets a key of a section or a cue, or takes it away.
func setLight(f *files, file string, at place, key string, to Value) error {
	if err := f.set(file, at.under(key), to); err != nil || to.given {
		return err
	}
	return removeIdleFade(f, file, at)
}

// removeIdleFade takes the fade of a section or a cue away if nothing is left there that
// fades.
func removeIdleFade(f *files, file string, at place) error {
	keys, err := f.keys(file, at)
	if err != nil {
		return err
	}
	if slices.ContainsFunc(keys, func(k string) bool { return slices.Contains([]string{"look", "effects", "set", "build"}, k) }) {
		return nil
	}
	for _, fade := range []string{"fade", "colour fade"} {
		if slices.Contains(keys, fade) {
			if err := f.removeKey(file, at.under(fade)); err != nil {
				return err
			}
		}
	}
	return nil
}
