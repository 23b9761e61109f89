package engine

import "tactus/clock"

// fade is how far the light has gone from that before the cue to the cue's.
type fade struct {
	active bool
	start  clock.Time // of a timed fade
	time   clock.Time
	beat   clock.Beat // of a musical fade: its start, in beats of Position.Pulse
	length clock.Beat
	share  float64 // how far it was at the last frame, 0..1
}

// begin starts a fade that should have begun late beats before pos. length is the
// span's, if it is musical.
func (f *fade) begin(s Span, length clock.Beat, pos clock.Position, late clock.Beat) {
	*f = fade{active: true, time: s.Time, start: pos.At - pos.Tempo.Span(late), beat: pos.Pulse - late, length: length}
}

// rejoin goes on from the present share after a jump of the pulse.
func (f *fade) rejoin(pos clock.Position) {
	f.beat = pos.Pulse - clock.Beat(f.share*float64(f.length))
}

// progress returns how far the fade is, 0..1. It ends the fade at 1.
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
