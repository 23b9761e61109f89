// Package rehearsal plays a show without a DAW and draws it in the terminal.
//
//	engine/night ──order, rests──► Player ──MIDI clock, start, stop──► live.Session
//	page ──requests──────────────────▲                                     │
//	terminal ◄── DrawScreen, DrawPlain ◄────────── snapshots ──────────────┘
//
// Nothing here is waited for by the loop of the show.
package rehearsal
