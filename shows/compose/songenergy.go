package compose

import (
	"fmt"
	"unicode/utf8"

	"tactus/shows/language"
	"tactus/shows/songtext"
)

// SetEnergy sets the energy of a section, 0 to 10.
type SetEnergy struct {
	Song    string `json:"song"`    // its file, such as songs/lanterns.yaml
	Section int    `json:"section"` // its index in the file, from 0
	Energy  int    `json:"energy"`  // 0 to 10
}

// Do returns "set energy".
func (e *SetEnergy) Do() string { return "set energy" }

// Words says what the edit does.
func (e *SetEnergy) Words() string {
	return fmt.Sprintf("energy %d for section %d of %s", e.Energy, e.Section+1, e.Song)
}

func (e *SetEnergy) edit(f *files) error {
	song, err := f.file(e.Song)
	if err != nil {
		return err
	}
	sections := song.Root.Get("sections").Items()
	if e.Section < 0 || e.Section >= len(sections) || len(sections[e.Section].All()) == 0 {
		return refuse(e.Song, 0, fmt.Sprintf("there is no section %d", e.Section), fmt.Sprintf("the song has %d, counted from 0", len(sections)))
	}
	section := sections[e.Section].All()[0]
	value := section.Value.Get("energy")
	if value == nil {
		return refuse(e.Song, section.Key.Line, "the section's energy cannot be read", "correct it in the file")
	}
	src, err := replaceWord(e.Song, f.sources[e.Song], value, fmt.Sprint(e.Energy))
	if err != nil {
		return err
	}
	f.put(e.Song, src)
	return nil
}

// replaceWord replaces an unquoted value by another text.
func replaceWord(name string, src []byte, old *language.Value, now string) ([]byte, error) {
	t := songtext.Read(src)
	line := t.Lines[old.Line-1]
	at := 0
	for range old.Column - 1 {
		_, size := utf8.DecodeRuneInString(line[at:])
		at += size
	}
	if end := at + len(old.Text); t.Odd || end > len(line) || line[at:end] != old.Text {
		return nil, refuse(name, old.Line, fmt.Sprintf("%q cannot be replaced", language.Shorten(old.Text)), "write it without quotes, on one line")
	}
	t.Lines[old.Line-1] = line[:at] + now + line[at+len(old.Text):]
	return t.Bytes(t.Lines), nil
}
