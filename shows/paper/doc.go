// Package paper makes what a crew takes along: the patch as a table, a sheet
// with switch settings to print, and what each circuit draws.
//
//	shows.Show ──Rows──► table, sheet (text, HTML)
//	           ──Sum───► amperes by circuit, now and at the night's worst
//	           ──NewBook─► Book ──PDF, HTML─► a night to print: set list, cue
//	                       sheets, trouble, patch, power, notices for the door
//
// Nothing here measures anything. Mains distribution is for qualified people
// under local code.
//
// Sources: ANSI E1.11 (slots). Address switches that count 1, 2, 4 ... 256 are
// common practice, no source. The 80 % rule for continuous load: NEC 210.20(A)
// and 215.3, from memory; other countries have rules of their own.
package paper
