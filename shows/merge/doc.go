// Package merge brings a song's file up to date with a MIDI file that a DAW wrote of the
// song. What the DAW decides is taken from the MIDI file: the sections with their names,
// order and bars, tempo and meter. What a person decided stays, and so does every line
// that need not change.
//
//	songs/x.yaml ──► sections, tempo, meter ─┐ matched by name and order (align.go)
//	x.mid ──smf.Read──► sections, tempo, meter ─┴──► edits of lines ──► songs/x.yaml, a report
//
// A section that the MIDI file has no more stays as a comment, and so does a cue, or an
// accepted finding, whose place is no more in the song. The lines of a draft that nobody
// has changed follow their section, or go with it.
//
// The result is read again before it is returned: it has the sections, tempos and meters
// of the MIDI file, or it is an error.
//
// A MIDI file without markers says nothing of sections: those of the song's file stay,
// and tempo and meter are taken.
package merge
