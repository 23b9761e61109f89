// Package plot draws shows as pictures: a song, a night on one page, and the
// stage from above.
//
//	shows.Show ──Measure──► Night ──┬─ Song ─────► Sheet ──┬─ PNG
//	                                ├─ Overview ─► Sheet ──┤
//	shows.Show ─────────────────────┴─ Stage ────► Sheet ──┴─ SVG
//
// A picture is a score of light. Every head has a line, as a voice has, and heads
// that hang together are bracketed as a section of players is. Light swells the
// line: the brighter, the thicker. So brightness needs no colour to be seen, on
// paper neither, and the fill says which colour it is. Section names stand above
// as rehearsal marks do. Under them runs the energy, as the song declares it and
// as the light has it.
//
// Both formats are written from one description (Sheet). Words are letters in an
// SVG, so that they can be searched and every writing system is there; a PNG has
// the letters of the Go fonts, which are Latin, Greek and Cyrillic.
//
// Light is that of the engine, as engine/flash reads it. Nothing here works out
// any of its own.
//
// Sources: lightness L* is CIE 15; SVG 1.1 (W3C); paper sizes ISO 216 and
// ANSI/ASME Y14.1.
package plot
