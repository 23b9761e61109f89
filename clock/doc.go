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
// The lock (lock.go) counts ticks and fits a line to them: tick number against time.
// It takes a tick for lost, or for one too many, only on evidence. It follows several
// hypotheses at once and shows the likeliest.
//
//	tick ──► hypotheses ──► the likeliest ──► line: n, at, period, bend
//	           ▲    │
//	           │    └── lateness of the tick ──► density of the noise, learned
//	           └──────────── likelihood ◄───────────────┘
//
// A hypothesis (hypothesis.go) holds the time of the last tick, the period and its
// rate of change, as means and covariances: a Kalman filter with noise that need not
// be normal. The density of the noise (noise.go) is learned from the ticks: of any
// shape with one peak, over the last beats and over the last bars. The update with
// that density is computed by summation (weigh.go; assumed-density filtering, P. S.
// Maybeck, 1982; from memory). So one-sided, two-sided, bounded and heavy-tailed
// noise need no separate cases.
//
// New hypotheses are spawned from the likeliest all the time (spawn.go): the tempo
// stepped, began to drift or settled; all ticks come later from now on; a tick was
// lost; a tick came twice; the score plans another tempo here (plan.go). Each begins
// with its prior probability per tick, and is dropped when ticks make it unlikely. It
// is shown once it is three ticks old and three times as likely as the one shown
// (multiple hypothesis tracking; Bayesian online change-point detection, R. Adams and
// D. MacKay, 2007; from memory). Lost and doubled ticks are considered only where the
// noise is much smaller than a tick. After a silence, where the noise is wider, the
// count that fits best and those one less and one more are followed until ticks
// decide, and so is the straight line through the bar before. Ticks that a queue lets
// out at once are counted and not used otherwise.
//
// Two kinds of noise have a pattern from tick to tick, which such a filter would
// mistake for a tempo:
//
//   - Ticks that come only at moments a fixed time apart: audio buffers, radio slots,
//     coarse timers. The step is estimated from the gaps (lattice.go); each tick then
//     bounds the time at which it fell. All straight lines within the bounds of the
//     last ticks are kept as a polygon (strip.go; set-membership estimation).
//   - Any other pattern. A smooth curve through the last bar (trend.go) measures, in
//     hindsight, the noise, the correlation of neighbours, and the errors of each
//     bank of hypotheses and of a delay-locked loop (score.go; loop.go; F. Adriaensen,
//     2005). If another one's errors are clearly smaller than those of the bank that
//     learns its noise from tick to tick, that one is shown (choose.go).
//
// During the first beat a straight line is shown. Once the noise is known, the ticks
// so far are processed again with it (begin.go).
//
// TestArrivalTable and BenchmarkArrivals compare the lock with the last tick, two
// delay-locked loops, least squares, and a smoother that has the future ticks too, on
// a library of arrival models; TestHeldOut on a second library that nobody tunes to.
//
// # What is left of an error
//
// [Position].Err is how far the beat may be off. A delay that all ticks share cannot
// be measured; the lead makes up for it. Where ticks come in steps, all of them may
// have fallen early or late in their steps: half a step is part of Err, and is
// [Arrivals].Unknown. Err is checked against hindsight: it grows while more than one
// error in twenty exceeds it (score.go). Some songs differ and send the very same
// ticks; ambiguous_test.go derives what no lock can know about them.
//
// The beat never runs backwards while playing except where Jumps counts. A
// correction bends the line by a tenth of the tempo, or by half of it if more
// than half a tick is to be made up.
//
// Sources: MIDI 1.0 Detailed Specification (system real time messages, song
// position pointer).
package clock
