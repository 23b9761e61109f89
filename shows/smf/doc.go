// Package smf writes a show's set as a Standard MIDI File: what a DAW session sends
// on the night as planned. It is for importing into a DAW, as the start of a
// session, and for rehearsing without one. It also writes one song for its own DAW
// project, and reads a file with markers as a song.
//
//	song ── WriteSong ──► tempo map, meters, markers, notes ──► DAW
//	song ◄─ Read ──────── tempo map, meters, markers ◄───────── DAW
//
//	track 1   tempo, meter and marker of   │Song: verse 1   │Song: chorus 1 … │gap│ next song …
//	track 2   program change, then notes   │PC ♪            │♪                │   │ PC ♪ …       walk-out ♪
//
// The songs of the set list follow one another as package night plans them, rests
// included. On the first downbeat of a song comes the program change that selects
// it, or the note for the next song, then the note of its first section. The note
// of every other section is on the section's own downbeat.
//
// A file cannot stop the transport, so that it plays on during the rests. A last
// section with "loop: yes" therefore begins again after its end, where the planned
// night stands still: no message leaves such a section without entering another.
//
// The file suits shows whose song position restarts with each song and shows whose
// position runs on: a song that is selected while the transport plays starts where
// it was selected. Only a jump inside the DAW differs. Where the position restarts,
// a jump into the second or a later song is understood from the next section's note
// on.
//
// Read moves markers to the nearest bar line and changes of tempo to the nearest
// beat, and lists what it moved and what it left out. A bar that a change of meter
// cuts short becomes a bar of its own meter, so that downbeats stay where they are.
// protocol/midi checks the chunks of a file before the library reads them.
//
// Sources: Standard MIDI Files 1.0, 2.1 to 3.1; MIDI 1.0 Detailed Specification
// (note on, note off, program change). gitlab.com/gomidi/midi/v2/smf writes the
// chunks.
package smf
