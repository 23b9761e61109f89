// Package journal is the file form of what a loop recorded: lines of text, one
// a record, in the order in which things happened. Text tools can read, search and
// compare them, and every number is exact.
//
//	tactus journal 1
//	show "my-hall"                       the head: what was played, and with what
//	content 5b1c…
//	started 2026-11-27T19:28:02.104518Z  time 0 of the lines below
//	…
//	                                     an empty line ends it
//	12.005123456 tick 12.003998123       at 12.005 s the loop took a MIDI clock
//	12.027850729 frame 529 8f3a90c1      frame 529 left; CRC-32C of all its slots
//	12.050578002 do fire-section index 3
//
// A line counts once its line feed is there: after a power cut the file is read up
// to the last whole line. Times are seconds since the start with nine decimals.
//
// No standard is behind it; the form is our own.
package journal
