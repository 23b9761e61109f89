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
	at, err := sectionPlace(f, e.Song, e.Section)
	if err != nil {
		return err
	}
	return f.set(e.Song, at.under("energy"), Number(e.Energy))
}

// sectionPlace returns the place of a section's keys in a song's file, which may have
// faults.
func sectionPlace(f *files, song string, i int) (place, error) {
	if err := needSong(f, song); err != nil {
		return nil, err
	}
	n, err := f.count(song, place{"sections"})
	if err != nil {
		return nil, err
	}
	if i < 0 || i >= n {
		return nil, noSuch(song, "section", i, n)
	}
	names, err := f.keys(song, place{"sections", i})
	if err == nil && len(names) == 0 {
		err = refuse(song, 0, fmt.Sprintf("section %d has no name", i), "correct it in the file")
	}
	if err != nil {
		return nil, err
	}
	return place{"sections", i, names[0]}, nil
}
