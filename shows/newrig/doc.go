// Package newrig makes a show folder for a hall that nobody has described yet, from what
// hangs where.
//
//	a list of a spreadsheet ──ReadList──┐
//	answers in a terminal ──ReadHanging─┴─► Description ──Make──► files of a show folder
//	                                         what hangs where        + remarks
//
// [Make] is a pure function: the same description gives the same bytes. It numbers
// addresses, forms groups by place and by kind, and writes looks whose light rises evenly
// along the ladder, whatever hangs there: each look states how bright the stage is to be
// (relative luminance, see rungs in ladder.go), and the level of each group follows from
// the luminance of its colour and the mean of the effects over it. The first song is
// drafted from that ladder. The result is loaded before it is returned.
//
// Places on the stage are guesses at a small hall, for pictures and for the paths of
// effects (common practice, no source); people put them right in rig.yaml.
package newrig
