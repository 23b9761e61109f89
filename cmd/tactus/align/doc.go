// Package align finds how far ahead of a click the light must leave, for the two
// to fall together where people are.
//
//	session of a show that flashes one fixture on the beat ──► light
//	Aligner: the same beats, later by the lead ──► click
//
// CAUTION: the fixture flashes, at most twice a second.
package align
