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
// # How the tempo lock reads its ticks
//
// Ticks are counted; what else they may be needs proof. The lock (lock.go) does not
// ask how late a tick came, but which readings of all ticks so far are likely.
//
//	tick ──► hypotheses ──► the likeliest ──► line  n, at, period, bend
//	           ▲    │
//	           │    └── how late it came ──► noise, learned
//	           └──────────── its density ◄──────┘
//
// A hypothesis (hypothesis.go) is where the last tick truly fell, the period, and how
// that drifts, each a mean and a variance: a Kalman filter, but for its noise. How
// late ticks come is a density that is learned from them (noise.go): of any form
// with one top, of the last beats and of the last bars. What a tick tells is then
// worked out by sums over it (weigh.go; assumed-density filtering, P. S. Maybeck,
// 1982; from memory). So late ticks, ticks late to both sides, bounded and
// heavy-tailed ones need no case of their own.
//
// From the likeliest hypothesis others leave all the time (breed.go): the tempo
// stepped, began to drift, settled; all ticks come later from now on; one was lost;
// one came twice; the score plans another tempo here (plan.go). Each starts with the
// odds that such a thing has at any tick, and lives as long as ticks speak for it. It
// is shown once it has stood for three ticks and is three times as likely (multiple
// hypothesis tracking; Bayesian online change-point detection, R. Adams and D.
// MacKay, 2007; from memory). That a tick was lost or came twice is asked only where
// noise is far smaller than a tick. Ticks out of a queue that empties at once are
// counted, and say nothing else.
//
// Some noise has a pattern from tick to tick, which such a filter takes for a tempo:
//
//   - Ticks that come only at moments a fixed time apart, as audio buffers, radio
//     slots and coarse timers have it. The step is estimated from the gaps
//     (lattice.go), and each tick then says within which step it fell. All straight
//     lines that the ticks allow are kept as a polygon (strip.go; set-membership
//     estimation).
//   - Any other. A trend through the last bar, with hindsight, measures the noise and
//     how alike neighbours are (trend.go), and how far each bank of hypotheses, and a
//     plain delay-locked loop (loop.go; F. Adriaensen, 2005), were off (score.go). If
//     the bank that looks from tick to tick is clearly the worse, another is shown
//     (choose.go).
//
// The first beat is a straight line; when its noise is known the ticks are gone
// through again (begin.go).
//
// TestArrivalTable and BenchmarkArrivals hold it against the last tick, two
// delay-locked loops, least squares, and a smoother that knows what comes, on a
// library of ways in which ticks arrive; TestHeldOut on another that nobody tunes to.
//
// # What is left of an error
//
// [Position].Err says how far the beat may be off. A delay that all ticks have
// cannot be seen, and is what the lead is for. Where ticks come in steps they may
// fall anywhere in theirs, all alike: half a step is part of Err, and
// [Arrivals].Unknown. Err is held to what hindsight finds: it grows while more than
// one look in twenty was further off than it said (score.go).
//
// The beat never runs backwards while playing except where Jumps counts. A
// correction bends the line by a tenth of the tempo, or by half of it if more
// than half a tick is to be made up.
//
// Sources: MIDI 1.0 Detailed Specification (system real time messages, song
// position pointer).
package clock
