// Package walk lights one fixture after another, so that somebody on the stage
// sees what is patched wrong.
//
//	keys, MIDI notes, page ──words──► Tour ──► Walker ──► a look of the walked program ──► the loop
//
// The walked program has a look for each fixture, group and colour; nothing in
// it flashes or moves, and hazers stay off.
package walk
