// Package plot draws shows as pictures: a song, a night on one page, and the
// stage from above.
//
//	plan.Night ──┬─ Score ────► sheet.Sheet: PNG or SVG
//	             └─ Overview ─► sheet.Sheet
//	shows.Show ──── Stage ────► sheet.Sheet
//
// A song's picture is a score of light. Every head has a line, and the heads of a
// group are joined by a bracket. The brighter the head, the thicker the line, so
// that brightness is seen without colour; the fill is the colour of the light.
// Section names stand above, as rehearsal marks do. Below them runs the energy, as
// the song declares it and as the light was measured.
//
// Source: lightness L* is CIE 15.
package plot
