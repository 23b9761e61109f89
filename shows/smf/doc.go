// Package smf writes a show's set as a Standard MIDI File with the messages that a DAW
// sends on the planned night. Import the file into a DAW to start a session, or play
// it to rehearse without a DAW. The package also writes one song for its own DAW
// project, and reads a file with markers as a song.
//
//	song ── WriteSong ──► tempo map, meters, markers, notes ──► DAW
//	song ◄─ Read ──────── tempo map, meters, markers or notes ◄ DAW
//
//	track 1   tempo, meter and marker of   │Song: verse 1   │Song: chorus 1 … │gap│ next song …
//	track 2   program change, then notes   │PC ♪            │♪                │   │ PC ♪ …       walk-out ♪
//
// The songs follow one another as package night plans them, including the gaps. The
// first downbeat of a song has the program change that selects it, or the "next song"
// note, then the note of its first section. The note of every other section is on the
// section's first downbeat.
//
// A file cannot stop the transport, which runs on during the gaps. A last section with
// "loop: yes" therefore starts again after its end, although the planned night stands
// still there: no message leaves such a section without entering another.
//
// The file works with both settings of "song position", restarts and runs on: a song
// that is selected while the transport runs starts at that moment. Only jumps in the
// DAW differ. With "restarts", after a jump into the second or a later song the show
// is right again from the next section's note.
//
// Read moves markers to the nearest bar line and tempo changes to the nearest beat. It
// lists what it moved or left out. If a meter changes inside a bar, the bar before the
// change gets its own shorter meter, so that downbeats stay in place. protocol/midi
// checks the chunks of a file before the library reads them.
//
// A song is over with the bar in which its last note ends, unless a marker says where.
// For a file without markers Read proposes sections from the notes (structure.go).
//
// J. Foote, Automatic audio segmentation using a measure of audio novelty, 2000 (from
// memory), for the boundaries of proposed sections.
//
// Sources: Standard MIDI Files 1.0, 2.1 to 3.1; MIDI 1.0 Detailed Specification
// (note on, note off, program change). gitlab.com/gomidi/midi/v2/smf writes the
// chunks.
package smf
