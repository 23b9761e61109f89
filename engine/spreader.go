package engine

import (
	"time"

	"tactus/clock"
)

// Spreader is an Output whose large frames leave in slices, so that small switches and
// nodes are not flooded. Send then only prepares such a frame, and the loop sends the
// slices between its other work. Small frames leave with Send.
type Spreader interface {
	// NextSlice returns when more of the last frame is due, if not all of it has left.
	NextSlice() (at clock.Time, ok bool)
	// SendSlice sends the next slice, if one is due at now. It must not block.
	SendSlice(now clock.Time)
}

// spreadersOf returns the outputs that are Spreaders.
func spreadersOf(outputs []Output) (list []Spreader) {
	for _, o := range outputs {
		if s, ok := o.(Spreader); ok {
			list = append(list, s)
		}
	}
	return list
}

// nextSlice returns when more of the last frame is due, in the show's times, or never.
func (l *Loop) nextSlice() clock.Time {
	first := never
	for _, s := range l.spreaders {
		if at, ok := s.NextSlice(); ok {
			first = min(first, at+l.following.shift)
		}
	}
	return first
}

// untilSlice sets a timer to the next slice, and returns its channel; nil if none is left.
func (l *Loop) untilSlice(timer *time.Timer) <-chan time.Time {
	at := l.nextSlice()
	if at == never {
		return nil
	}
	timer.Reset(l.config.Base.Until(at - l.following.shift))
	return timer.C
}

// sendSlices sends the slices that are due. now is the present time, not that of the
// frame: the light of a large show takes some milliseconds to make.
func (l *Loop) sendSlices(now clock.Time) {
	for _, s := range l.spreaders {
		s.SendSlice(now)
	}
}
