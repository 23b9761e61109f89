package engine

import "tactus/clock"

// frameGrid says when the next frame is due. While the music plays, frames lie in
// equal steps between marks: moments known ahead that must be frames, such as
// beats and cues. Else they come at the plain rate.
//
//	beat            cue       beat
//	|  |  |  |  |  |   |   |   |  |  |      as many as fit, none closer
//	^ n = ⌊44 · s to the next mark⌋         than 1/44 s
//
// What is left of the way to the mark is divided anew at every frame, so that
// frames follow the tempo without a jerk.
type frameGrid struct {
	pace             // the plain rate; and the guard of every second
	free        bool // never heed marks
	marked      bool // frames are laid towards mark
	mark        clock.Beat
	at          clock.Time // of the next frame, while marked
	stepsLeft   int64      // steps from the last frame to the mark
	stepsBefore int64      // steps at the start of the way to the last mark
}

const (
	// roundingSlack is what may be missing to one more step: moments are rounded to
	// nanoseconds and beats.
	roundingSlack = 2 * clock.Microsecond
	// surplus is the part of the way that has to be over before there is one step
	// more than on the way to the mark before: a clock measured as 119.99 and
	// 120.01 in turn does not flip between 21 and 22 frames.
	surplus = 1000
	// maxLateMark is how late a mark's frame may come on a way that turns out too short
	// for its steps, rather than that one of them is left out: a hole is seen.
	maxLateMark = clock.Millisecond / 2
	// maxMarkWait is how far short of its mark a frame may be and still wait for it.
	maxMarkWait = clock.Millisecond
)

// next returns when the next frame may go.
func (g *frameGrid) next() clock.Time {
	if !g.marked {
		return g.pace.next()
	}
	return max(g.at, g.notBefore())
}

// takeFrame takes the next frame at now and returns how many were missed before it.
// After a stall the grid goes on from now.
func (g *frameGrid) takeFrame(now clock.Time) (missed uint64) {
	if !g.marked {
		return g.pace.takeFrame(now)
	}
	g.at = g.next()
	if n := (now - g.at) / g.period(); n > 0 {
		g.at, missed = now, uint64(n)
	}
	g.stepsLeft--
	return missed
}

// waitsForMark reports that the frame which is due was to be a mark's, but that the
// tempo has changed since it was planned, by so little that it waits: a
// position short of its cue by a microsecond would show the cue a frame late.
// To move the position instead would be simpler, but what is shown then is not
// where the music is.
func (g *frameGrid) waitsForMark(now clock.Time, beat clock.Beat, to clock.Time) bool {
	if !g.marked || g.stepsLeft != 1 || beat >= g.mark || to <= now || to-now >= maxMarkWait {
		return false
	}
	g.at = to
	return true
}

// planNext places the frame after the one just taken: mark falls at to, or there is
// none to heed.
func (g *frameGrid) planNext(mark clock.Beat, to clock.Time, ok bool) {
	if !ok || g.free {
		if g.marked { // go on at the plain rate from here
			g.marked, g.base, g.n = false, g.at, 1
		}
		return
	}
	same := g.marked && mark == g.mark
	if !g.marked {
		g.at = g.base + clock.Time((g.n-1)*int64(clock.Second)/g.rate)
	}
	way := max(to-g.at, 0)
	most, sure := g.fit(way+roundingSlack), g.fit(way-way/surplus)
	switch {
	case !same:
		g.stepsLeft = most
		if sure < most && sure == g.stepsBefore {
			g.stepsLeft = sure
		}
		g.stepsBefore = g.stepsLeft
	case most < g.stepsLeft && clock.Time(g.stepsLeft)*g.period()-way > maxLateMark:
		g.stepsLeft = most
	case sure > g.stepsLeft:
		g.stepsLeft = sure
	}
	g.stepsLeft = max(g.stepsLeft, 1)
	g.marked, g.mark = true, mark
	g.at += max(way/clock.Time(g.stepsLeft), g.period())
}

// fit returns how many steps at the highest rate there is room for.
func (g *frameGrid) fit(way clock.Time) int64 { return int64(way) * g.rate / int64(clock.Second) }
