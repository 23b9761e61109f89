// Package smf writes a show as a Standard MIDI File: what a DAW session sends
// when the night goes as planned. Import it into a DAW as the start of a
// session, or play it to rehearse without one. It also writes one song for its
// own DAW project, and makes a song of a file with markers.
//
//	song ── WriteSong ──► tempo map, meters, markers, notes ──► DAW
//	song ◄─ Read ──────── tempo map, meters, markers ◄───────── DAW
//
//	track 1   tempo, meter and marker of   │Song: verse 1   │Song: chorus 1 … │gap│ next song …
//	track 2   program change, then notes   │PC ♪            │♪                │   │ PC ♪ …       walk-out ♪
//
// All songs of the set list lie on one timeline, as package night has it. At each first downbeat comes
// the program change (or the note for the next song) that selects the song,
// then the note of its first section; every other section's note is on its own
// downbeat. Between songs lie two bars, or as many more as it takes for the
// next song to start on a whole quarter note, so that song position (in
// sixteenths) and the engine's grid (eighths) can name the place.
// A file cannot stop: the transport plays through these rests.
//
// One timeline suits both kinds of DAW session. A song that is selected while
// the transport plays starts where it was selected (engine's playback), whether
// or not the show says that song position runs on from song to song. The
// difference shows only when a person jumps inside the DAW: in a show whose
// song position starts afresh with each song, a jump into the second or a later
// song of this file is not understood until the next section's note.
//
// Read takes a file as people make them. A bar that a change of meter cuts short
// becomes a bar of its own meter, so that downbeats stay where they are; markers
// go to the nearest bar line, changes of tempo to the nearest beat; what that
// moves, and what a song cannot have, is listed. Nothing in a file panics:
// protocol/midi checks its chunks before the library sees them.
//
// Sources: Standard MIDI Files 1.0, 2.1 to 3.1; MIDI 1.0 Detailed Specification
// (note on, note off, program change). gitlab.com/gomidi/midi/v2/smf writes the
// chunks.
package smf
