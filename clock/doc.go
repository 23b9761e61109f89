// Package clock turns stamped MIDI ticks, taps and transport messages into a
// smooth musical position.
//
//	Event (tick, start, stop, …; stamped on arrival)
//	        │ Transport.Handle
//	        ▼
//	    lock or tapper: a line  beat = f(time)
//	        │ glide: continuous, always rising
//	        ▼ Transport.At(Time), and back: Transport.When(Beat)
//	    Position (beat, pulse, tempo, sync, playing)
//
// Musical positions are integers: a [Beat] is 1/6,720,000 of a quarter note,
// exact for MIDI's 24 ticks a quarter, for triplets, fives and sevens. Time is
// an argument everywhere; [Base] is the one place that reads it.
//
// # Who leads
//
// Exactly one source leads the tempo. In order:
//
//  1. A MIDI clock, from its first tick on for as long as it ticks. When three
//     ticks and 100 ms have gone by without one, or the port is lost, the last
//     tempo carries on: [Holdover]. When it ticks again, the tick counts as the
//     whole tick nearest to where the music has got to.
//  2. Taps, once three have come, and no MIDI clock ticks.
//  3. The internal clock: the tempo of the last SetTempo, or of the start.
//
// Three taps give a tempo, a fourth makes it good. A tap that was missed and one
// that came twice are recognised; a pause or another tempo begins anew. Taps
// after that correct the phase by a tenth of the tempo at most. Halve and Double
// mend a tempo that was tapped on every second beat or on the eighths: it
// changes on the next beat, and counts as another series of taps. They leave a
// MIDI clock alone.
//
// A tap or a SetTempo takes the lead from holdover. [Config] can hold the lead
// to one source instead.
//
// # When it plays
//
// While a MIDI clock ticks, Start, Continue and a Locate while playing take hold
// at the next tick, which is then that position; if none comes within half a
// second, they count from their own moment. Else they act at once, and a first
// tick within half a second still is the position: what ran ahead is waited for.
// Stop always acts at once; a Continue after it goes on with the next tick of
// the count. Ticks while stopped move the tempo and the pulse, not the beat.
//
// # How the tempo lock sees through jitter
//
// A tick is late, never early: by little mostly, now and then by much. So the
// lock asks which lines no tick lies under (hull.go), takes the mean of them all,
// each by how likely it makes the ticks, and looks as far back as the tempo has
// stood (fit.go), or along a bend where it drifts. Ticks that are lost, doubled or
// come in a burst are counted right before they reach the line (lock.go).
// testdata/midi holds traces, modelled and recorded; TestTempoLock and
// BenchmarkTempoLock compare with the last tick and with the loop of F. Adriaensen
// ("Using a DLL to filter time", 2005).
//
// # What is left of an error
//
// [Position].Err says how far the beat may be off. It rests on the ticks alone: a
// delay that all of them have cannot be seen, and is what the lead is for.
//
// The beat never runs backwards while playing except where Jumps counts. A
// correction bends the line by a tenth of the tempo, or by half of it if more
// than half a tick is to be made up. Ticks that are lost, come twice or come in
// a burst are recognised within a quarter of a beat once the lock has a beat to
// go by; before that a doubled tick counts.
//
// Sources: MIDI 1.0 Detailed Specification (system real time messages, song
// position pointer).
package clock
