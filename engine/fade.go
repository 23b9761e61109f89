package engine

import "tactus/clock"

// fade is the progress of the light from the state before a cue to the cue's state.
type fade struct {
	active bool
	start  clock.Time // start of a fade in seconds
	time   clock.Time // its length
	beat   clock.Beat // start of a fade in beats, by Position.Pulse
	length clock.Beat // its length
	share  float64    // progress at the last frame, 0..1
}

// begin starts a fade that should have begun late beats before pos. length is the
// length of a span in beats or bars.
func (f *fade) begin(s Span, length clock.Beat, pos clock.Position, late clock.Beat) {
	*f = fade{active: true, time: s.Time, start: pos.At - pos.Tempo.Span(late), beat: pos.Pulse - late, length: length}
}

// rejoin continues the fade from its present share after a jump of the pulse.
func (f *fade) rejoin(pos clock.Position) {
	f.beat = pos.Pulse - clock.Beat(f.share*float64(f.length))
}

// progress returns the progress of the fade, 0..1. It ends the fade at 1.
func (f *fade) progress(pos clock.Position) float64 {
	x := 1.0
	switch {
	case f.time > 0:
		x = float64(pos.At-f.start) / float64(f.time)
	case f.length > 0:
		x = float64(pos.Pulse-f.beat) / float64(f.length)
	}
	f.share = min(1, max(f.share, x)) // a fade never goes back
	if f.share >= 1 {
		f.active = false
	}
	return f.share
}
