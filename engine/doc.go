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
// A Program is a show with every name resolved to an index. Package shows
// compiles one from files.
package engine
