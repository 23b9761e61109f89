package engine

import (
	"tactus/clock"
)

// fade moves the light from where it was to the cue in force.
type fade struct {
	active bool
	start  clock.Time // timed fades
	time   clock.Time
	beat   clock.Beat // musical fades: the pulse at which it began
	length clock.Beat
	share  float64 // how far it was at the last frame
}

// begin starts a fade that should have begun late beats before pos. length is
// that of the span there, if it is musical.
func (f *fade) begin(s Span, length clock.Beat, pos clock.Position, late clock.Beat) {
	*f = fade{
		active: true,
		time:   s.Time,
		start:  pos.At - pos.Tempo.Span(late),
		beat:   pos.Pulse - late,
	}
	if s.Time == 0 {
		f.length = length
	}
}

// rejoin carries on from the present share when the pulse has jumped.
func (f *fade) rejoin(pos clock.Position) {
	f.beat = pos.Pulse - clock.Beat(f.share*float64(f.length))
}

// progress returns how far the fade is, 0..1, and ends it at 1.
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
