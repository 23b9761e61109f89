package compose

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/smf"
)

// AddSong adds a song's file.
type AddSong struct {
	Song  string `json:"song"` // its file, such as songs/lanterns.yaml
	Name  string `json:"name"`
	Tempo string `json:"tempo"` // such as "72 bpm"
	Meter string `json:"meter"` // such as "4/4"
	// Bars makes one section of so many bars, 1 to 999, to be divided later.
	Bars int `json:"bars,omitempty"`
	// Sections are names with their bars instead: "intro 4, verse 8, chorus 8". Each gets
	// an energy by its name: a guess.
	Sections string `json:"sections,omitempty"`
}

// Do returns "add song".
func (e *AddSong) Do() string { return "add song" }

// Words says what the edit does.
func (e *AddSong) Words() string { return fmt.Sprintf("new song %q", e.Name) }

func (e *AddSong) edit(f *files) error {
	if err := needNewSong(f, e.Song, e.Name); err != nil {
		return err
	}
	sections := []shortSection{{"verse", e.Bars, 5}}
	if e.Sections != "" && e.Bars != 0 {
		return refuse(e.Song, 0, "the song has sections, and a number of bars besides", "one of the two")
	}
	if e.Sections != "" {
		var err error
		if sections, err = shortSections(e.Song, e.Sections); err != nil {
			return err
		}
	}
	lines := []string{
		"# yaml-language-server: $schema=../schema/song.schema.json", "",
		"song: " + scalar(e.Name), "tempo: " + scalar(e.Tempo), "meter: " + scalar(e.Meter), "", "sections:",
	}
	for _, s := range sections {
		lines = append(lines, "  - "+scalar(s.name)+": "+sectionValue(s.name, s.bars, s.energy).values[0].String())
	}
	f.put(e.Song, []byte(strings.Join(append(lines, ""), "\n")))
	return nil
}

// needNewSong returns an error unless a song can be added in a file under a name.
func needNewSong(f *files, file, name string) error {
	if err := f.needNewFile(file, language.SongFile); err != nil {
		return err
	}
	if other, exists := songNames(f)[name]; exists {
		return taken(other, "song", name)
	}
	return nil
}

// shortSection is a section of a new song.
type shortSection struct {
	name         string
	bars, energy int
}

// shortSections reads sections in short words: "intro 4, verse 8, chorus 8". "bars" after
// a number is understood.
func shortSections(file, text string) (list []shortSection, err error) {
	const want = "a name and a number of bars for each, with commas between: intro 4, verse 8, chorus 8"
	var names []string
	for _, item := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		words := strings.Fields(item)
		if n := len(words); n > 2 && slices.Contains([]string{"bar", "bars"}, strings.ToLower(words[n-1])) {
			words = words[:n-1]
		}
		if len(words) == 0 {
			continue
		}
		last := len(words) - 1
		bars, bad := strconv.Atoi(words[last])
		name := strings.Join(words[:last], " ")
		if bad != nil || name == "" || !strings.ContainsFunc(name, unicode.IsLetter) {
			return nil, refuse(file, 0, fmt.Sprintf("of the section %q the name or the number of bars is missing", language.Shorten(strings.Join(words, " "))), want)
		}
		if bars < 1 || bars > 999 {
			return nil, refuse(file, 0, fmt.Sprintf("the section %q cannot have %d bars", language.Shorten(name), bars), "1 to 999")
		}
		list, names = append(list, shortSection{name: name, bars: bars}), append(names, name)
	}
	if len(list) == 0 {
		return nil, refuse(file, 0, "the song would have no section", want)
	}
	for i, energy := range smf.Energies(names) {
		list[i].energy = int(energy)
	}
	return list, nil
}

// ImportSong adds a song's file with its whole text, as "tactus import midi" writes it.
type ImportSong struct {
	Song string `json:"song"` // its file, such as songs/lanterns.yaml, which must not exist
	Text string `json:"text"`
}

// Do returns "import song".
func (e *ImportSong) Do() string { return "import song" }

// Words says what the edit does.
func (e *ImportSong) Words() string { return "a song read from a file in " + e.Song }

func (e *ImportSong) edit(f *files) error {
	if err := f.needNewFile(e.Song, language.SongFile); err != nil {
		return err
	}
	f.put(e.Song, []byte(e.Text))
	return nil
}

// CopySong adds a song's file that has all of another's but its name and its program.
type CopySong struct {
	Song string `json:"song"`
	To   string `json:"to"`   // the copy's file, which must not exist
	Name string `json:"name"` // of the copy
}

// Do returns "copy song".
func (e *CopySong) Do() string { return "copy song" }

// Words says what the edit does.
func (e *CopySong) Words() string { return fmt.Sprintf("%q, copied from %s", e.Name, e.Song) }

func (e *CopySong) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	if err := needNewSong(f, e.To, e.Name); err != nil {
		return err
	}
	src, err := f.source(e.Song)
	if err != nil {
		return err
	}
	f.put(e.To, slices.Clone(src))
	if err := f.set(e.To, place{"song"}, Text(e.Name)); err != nil {
		return err
	}
	return f.set(e.To, place{"program"}, Value{}) // no two songs have the same
}

// RemoveSong removes the file of a song that no set has.
type RemoveSong struct {
	Song string `json:"song"`
}

// Do returns "remove song".
func (e *RemoveSong) Do() string { return "remove song" }

// Words says what the edit does.
func (e *RemoveSong) Words() string { return "removing " + e.Song }

func (e *RemoveSong) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	names := songNames(f)
	for _, set := range f.names(language.SetFile) {
		songs, _ := f.texts(set, place{"songs"}) // a set that cannot be read is told by the loader
		if slices.ContainsFunc(songs, func(s string) bool { return names[s] == e.Song || s == shows.StemOf(e.Song) }) {
			return refuse(set, 0, fmt.Sprintf("the set has the song of %s", e.Song), "take it out of the set first")
		}
	}
	f.remove(e.Song)
	return nil
}
