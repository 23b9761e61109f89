package engine

import "tactus/clock"

// frameGrid plans when frames are made. While the music plays, they lie in equal steps
// between marks: moments known ahead that must be frames, such as beats and cues. Else
// they come at the plain rate.
//
//	beat            cue       beat
//	|  |  |  |  |  |   |   |   |  |  |      as many as fit, none closer
//	^ n = ⌊44 · s to the next mark⌋         than 1/44 s
type frameGrid struct {
	pace             // the plain rate, and at most 44 frames in every second
	free        bool // no marks
	marked      bool // the next frames lie on the way to mark
	mark        clock.Beat
	at          clock.Time // of the next frame, while marked
	stepsLeft   int64      // from the last frame to the mark
	stepsBefore int64      // planned at the start of the way to this mark or the one before
}

const (
	// roundingSlack is how much time may be missing for one more frame before the mark:
	// times are rounded to nanoseconds, and positions to beats.
	roundingSlack = 2 * clock.Microsecond
	// surplus: the time to the mark must be longer by 1/surplus before it gets one frame
	// more than the time to the mark before had. So a clock that is measured as 119.99
	// and 120.01 BPM in turn does not alternate between 21 and 22 frames.
	surplus = 1000
	// maxLateMark is how late the frame of a mark may be if there is less time for its
	// frames than was expected. If it would be later, one frame is left out, which is a
	// visible gap.
	maxLateMark = clock.Millisecond / 2
	// maxMarkWait is how early the frame of a mark may come due and still be delayed to the
	// mark.
	maxMarkWait = clock.Millisecond
)

func (g *frameGrid) next() clock.Time {
	if !g.marked {
		return g.pace.next()
	}
	return max(g.at, g.notBefore())
}

// takeFrame takes the next frame at now and returns how many were missed before it.
// After missed frames the grid goes on from now.
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

// waitsForMark reports whether the frame that is due waits for its mark, at time to,
// and delays it. That is when the tempo has changed a little since the frame was
// planned: a microsecond before a cue, the frame would show the cue before.
func (g *frameGrid) waitsForMark(now clock.Time, beat clock.Beat, to clock.Time) bool {
	if !g.marked || g.stepsLeft != 1 || beat >= g.mark || to <= now || to-now >= maxMarkWait {
		return false
	}
	g.at = to
	return true
}

// planNext plans the frame after the one just taken. The next mark comes at to, if ok;
// else there is none.
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

// fit returns how many steps at the plain rate fit.
func (g *frameGrid) fit(way clock.Time) int64 { return int64(way) * g.rate / int64(clock.Second) }
