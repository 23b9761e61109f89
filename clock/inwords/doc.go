// Package inwords says in plain words how a DAW's clock comes in, and what that
// costs.
//
//	clock.Arrivals, clock.Position ──► Append ──► a few words, for a line
//	                              └──► Of ──────► sentences, what would help, how grave
//	how late the DAW's bars are    ──► AppendBars ► a sentence
//
// The terminal, the log, the page and the report about a computer all take
// their words from here, so that they say the same.
//
// The limits are common practice, no source: light that is less than 5 ms off the
// beat is seen by nobody, and 20 ms, which is about a frame, can be seen on
// something that changes at once. Nobody is alarmed for less.
package inwords
