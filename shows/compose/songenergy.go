package compose

import "fmt"

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
		return noSuch(e.Song, "section", e.Section, len(sections))
	}
	section := sections[e.Section].All()[0]
	if section.Value.Get("energy") == nil {
		return refuse(e.Song, section.Key.Line, "the section's energy cannot be read", "correct it in the file")
	}
	return f.set(e.Song, place{"sections", e.Section, section.Key.Text, "energy"}, Number(e.Energy))
}
