package compose

import (
	"fmt"

	"tactus/shows/merge"
	"tactus/shows/smf"
)

// TakeMIDI brings a song's file up to date with a MIDI file: sections, tempo and meter are
// those of the MIDI file, and all else stays. It has no form in JSON.
type TakeMIDI struct {
	Song   string        // its file
	MIDI   *smf.Import   // what was read
	From   string        // the name of the MIDI file, for comments and the report
	Called string        // the song's file in the report and in errors; "": as Song
	Merged *merge.Merged // what was done, once it was made
}

// Do returns "take midi".
func (e *TakeMIDI) Do() string { return "take midi" }

// Words says what the edit does.
func (e *TakeMIDI) Words() string { return fmt.Sprintf("%s as in %s", e.Song, e.From) }

func (e *TakeMIDI) edit(f *files) error {
	if err := needSong(f, e.Song); err != nil {
		return err
	}
	src, err := f.source(e.Song)
	if err != nil {
		return err
	}
	called := e.Called
	if called == "" {
		called = e.Song
	}
	if e.Merged, err = merge.New(called, src, e.MIDI, e.From); err == nil {
		f.put(e.Song, e.Merged.Source)
	}
	return err
}
