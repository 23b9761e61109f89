// Package engine plays a compiled show: a position in the music goes in,
// universes of light come out.
//
//	Position ─► playback   which section and cue, how far into its fade
//	            looks      the cue's static light
//	            effects    waves over it, functions of the beat
//	            fade       from wherever the light was
//	            hold       or the light that was kept
//	            masters    grand master, blackout
//	            (the place of a flash limiter: the last stage before encoding)
//	            Encode     states to slots
//	         ─► []dmx.Universe ─► Output.Send
//
// Engine.Frame does all of that as a function of the position and of the
// commands given to Do before it. It reads no clock, does no I/O, cannot fail
// and does not touch the heap, so that the live loop, rehearsal, analysis and
// pictures all call the same one. Loop owns an Engine and a clock and is the
// only timer.
//
// # The grid of frames
//
// While music plays, frames lie in equal steps between marks: beats, cues, the
// boundaries of armed sections, ends of sections. Each is asked of the clock
// ahead of time and becomes a frame, so that a cue on the downbeat leaves on it
// and not up to 22.7 ms later. Of the steps there are as many as fit:
// ⌊44·60/T⌋ a beat at tempo T.
//
//	mark            mark (a cue)    mark
//	|   |   |   |   |  |  |  |  |  |   |   |   |     time ►
//	 no step under 1/44 s; no second with more than 44
//
// What is left of the way is divided anew at each frame. Where marks are closer
// than 1/44 s, the second one's frame goes as early as it may. Stopped, or with a free
// grid, frames come at the plain rate. Late by a whole period is skipped and
// counted. Universes with less lead than others get the same frames later.
//
// Sources: ANSI E1.31-2018, 6.6.1 (no faster than E1.11 allows); ANSI E1.11
// (the shortest packet of 512 slots: 44 a second).
//
// A Program is a show with every name resolved to an index. Package shows
// compiles one from files.
package engine
