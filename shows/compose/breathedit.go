package compose

import (
	"fmt"

	"tactus/shows"
	"tactus/shows/language"
)

// SetBreath puts a beat of dark before the start or the end of a section, or takes it out.
type SetBreath struct {
	Song    string `json:"song"`
	Section int    `json:"section"`
	Before  string `json:"before"` // "start" or "end" of the section
	On      bool   `json:"on"`     // false: a breath that is there is taken out
}

// Do returns "set breath".
func (e *SetBreath) Do() string { return "set breath" }

// Words says what the edit does.
func (e *SetBreath) Words() string {
	what := "breath of dark before the"
	if !e.On {
		what = "no breath of dark before the"
	}
	return fmt.Sprintf("%s %s of section %d of %s", what, language.Shorten(e.Before), e.Section+1, e.Song)
}

func (e *SetBreath) edit(f *files) error {
	t, _, err := sectionOf(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	at := ""
	switch {
	case e.Before == "start" && e.Section == 0:
		return refuse(e.Song, 0, "the song begins there, so nothing can be before it", "a breath before another section")
	case e.Before == "start":
		at = t.song.Sections[e.Section].Name
	case e.Before == "end" && e.Section == len(t.keys)-1:
		at = t.song.Sections[e.Section].Name + " end"
	case e.Before == "end":
		at = t.song.Sections[e.Section+1].Name
	default:
		return refuse(e.Song, 0, fmt.Sprintf("a breath before %q", language.Shorten(e.Before)), `"start" or "end"`)
	}
	at += " - 1 beat"
	show, problems := f.loader.LoadSources(f.sources, f.unread, shows.Options{})
	if show == nil {
		return problems
	}
	look := shows.BreathLook(show)
	if look == "" {
		return refuse(looksFile, 0, "no look is dark, so there is none for a breath", "make a look whose levels are 0 % first")
	}
	there, err := e.breathAt(f, at, look)
	switch {
	case err != nil:
		return err
	case e.On && there < 0:
		rest := object("look", Text(look))
		rest.put("fade", Text("1/2 beat"))
		return placeCue(f, e.Song, at, rest)
	case !e.On && there >= 0:
		return f.prune(e.Song, place{"cues", there}, 1)
	}
	return nil
}

// breathAt returns the index of the cue that is a breath at a place, or -1.
func (e *SetBreath) breathAt(f *files, at, look string) (int, error) {
	n, err := f.count(e.Song, place{"cues"})
	for i := 0; i < n && err == nil; i++ {
		where, _ := f.node(e.Song, place{"cues", i, "at"})
		what, _ := f.node(e.Song, place{"cues", i, "look"})
		if where != nil && what != nil && where.Value == at && what.Value == look {
			return i, nil
		}
	}
	return -1, err
}
