// Package night plays a set as planned: the night when nobody does anything but what
// the files say.
//
//	Program ─► PlannedSongs: songs in the order of the set, where each begins
//	             │
//	             ▼ Play
//	           walk-in │ select  start  section … section  stop │ rest │ select …
//	             │       the transport's messages and the commands that a DAW sends
//	             ▼
//	           engine.Offline ─► frames: where the music is, slots, states of heads
//
// The frames are those of engine.Loop: the same steps make them, on the same grid
// and marks, with effects, fades, groups left as the song before set them, minimum
// levels, loops, passes and the flash limiter. check, plot and sheet measure these
// frames; explain says what one of them is made of. The rehearsal's player and the
// MIDI file of a set send the same songs, sections, rests and tempos.
//
// As planned means: the walk-in look is up for WalkIn. Each song is selected while
// the transport stands, starts at its first downbeat and plays at its written
// tempos. Every section is entered by a command on its first downbeat and played
// once, looping sections too. At the end of the song the transport stops and stands
// for the rest before the next song: two bars, then on to the next whole quarter
// note, so that a song position can name the first downbeat of the next song in a
// file that holds the whole set. Nobody touches a master, and no note is early or
// late.
package night
