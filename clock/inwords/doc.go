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
// The limits are common practice, no source: nobody sees light that is less than 5 ms
// off the beat; 20 ms, about a frame, can be seen on light that changes at once.
package inwords
