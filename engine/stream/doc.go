// Package stream is the form in which one run sends its state to another that
// stands by: messages on a connection that somebody else has secured.
//
//	kind, 1 byte │ length, 4 bytes, big-endian │ payload, at most limit(kind) bytes
//
//	both sides      Hello, then State every 50 ms and when it changes, Bye at the end
//	who follows     Follow ─► asks for Head, Show and Checkpoint; AskTime
//	who is on the   Head, Show, Checkpoint, then each Record as it happens; Time; Yours
//	lamps
//
// Head and records are the lines of package journal, so that the same numbers come
// out, and a follower replays what a journal would have replayed.
//
// Every payload has a limit, and what is wrong in one is an error: the other side is
// known, but its program may be another version.
//
// No standard is behind it; the form is our own.
package stream
