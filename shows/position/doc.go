// Package position reads and prints places in a song in words: "chorus 2, bar 3
// beat 1", "outro end - 1 bar".
//
//	text ──Find──► beat      beat ──Name──► text
//
// What Name prints, Find reads as the same whole beat.
package position
