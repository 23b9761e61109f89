// Package clock turns stamped MIDI ticks, taps and transport messages into a
// smooth musical position.
//
//	Event (tick, start, stop, …; stamped on arrival)
//	        │ Transport.Handle
//	        ▼
//	    tempo lock: a line  beat = f(time)
//	        │ Transport.At(Time)
//	        ▼
//	    Position (beat, tempo, sync, playing)
//
// Musical positions are integers: a [Beat] is 1/6,720,000 of a quarter note,
// exact for MIDI's 24 ticks a quarter, for triplets, fives and sevens. Time is
// an argument everywhere; [Now] is the one place that reads it.
//
// Sources: MIDI 1.0 Detailed Specification (system real time messages, song
// position pointer).
package clock
