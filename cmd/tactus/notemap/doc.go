// Package notemap prints the map from MIDI and OSC to light: what each note,
// program, controller and address does in a show.
//
//	engine.Program, commands.Table ──► Print ──► tables of text
package notemap
