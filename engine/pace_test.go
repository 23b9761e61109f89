package engine

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// crowded returns a frame that shares a window [t, t+1 s) with 44 before it, or
// -1, from when the first and the last packet of each went out. ANSI
// E1.31-2018, 6.6.1: no faster than E1.11 allows, 44 full packets a second.
func crowded(first, last []clock.Time) int {
	for i := dmx.MaxRate; i < len(first); i++ {
		if first[i]-last[i-dmx.MaxRate] < clock.Second {
			return i
		}
	}
	return -1
}

// punctual wakes a pace exactly when it asks, until a time.
func punctual(p *pace, until clock.Time, each func(at clock.Time)) (missed uint64) {
	for at := p.next(); at <= until; at = p.next() {
		missed += p.takeFrame(at)
		p.recordSent(at)
		if each != nil {
			each(at)
		}
	}
	return missed
}

// 44 frames a second for 3,600 s, and the one at 0.
func TestPunctualHour(t *testing.T) {
	var p pace
	p.start(0, 44)
	var frames int64
	missed := punctual(&p, 3600*clock.Second, func(at clock.Time) {
		require.Equal(t, clock.Time(frames*int64(clock.Second)/44), at, "frame %d", frames)
		frames++
	})
	assert.EqualValues(t, 158_401, frames)
	assert.Zero(t, missed)
}

func TestSlowerRates(t *testing.T) {
	for rate := 1; rate <= dmx.MaxRate; rate++ {
		var p pace
		p.start(5*clock.Second, rate)
		frames := 0
		punctual(&p, 15*clock.Second, func(clock.Time) { frames++ })
		assert.Equal(t, 10*rate+1, frames, "%d a second: frames in 10 s", rate)
	}
}

// Whatever the wakes do, no second holds more than 44 frames.
func TestNoSecondIsCrowded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var p pace
		p.start(0, dmx.MaxRate)
		late := lateness(t)
		var first, last []clock.Time // packet of each frame
		now := clock.Time(0)
		for range 1500 {
			now = max(now, p.next()) + late()
			p.takeFrame(now)
			first = append(first, now)
			now += clock.Time(rapid.IntRange(0, 300).Draw(t, "send µs")) * clock.Microsecond
			p.recordSent(now)
			last = append(last, now)
		}
		if i := crowded(first, last); i >= 0 {
			require.Fail(t, fmt.Sprintf("45 frames from %v to %v", last[i-44].Sub(0), first[i].Sub(0)))
		}
	})
}

// lateness draws how wakes are late: hardly, by bursts, by stalls of seconds.
func lateness(t *rapid.T) func() clock.Time {
	kind := rapid.SampledFrom([]string{"timer", "bursts", "stalls"}).Draw(t, "lateness")
	return func() clock.Time {
		dice := rapid.IntRange(0, 99).Draw(t, "dice")
		small := clock.Time(dice*dice) * clock.Microsecond / 10 // up to 1 ms
		switch {
		case kind == "bursts" && dice >= 90:
			return clock.Time(rapid.IntRange(1, 60).Draw(t, "late ms")) * clock.Millisecond
		case kind == "stalls" && dice == 99:
			return clock.Time(rapid.IntRange(1, 10).Draw(t, "stall s")) * clock.Second
		}
		return small
	}
}

// A frame that is 15 ms late moves the grid by as much a second later, and from
// then on frames are evenly spaced again.
func TestGridRecoversFromALateFrame(t *testing.T) {
	const late = 15 * clock.Millisecond
	var p pace
	p.start(0, 44)
	punctual(&p, clock.Second, nil)
	at := p.next() + late
	assert.Zero(t, p.takeFrame(at), "it was late by less than a period")
	p.recordSent(at)
	last := at
	punctual(&p, 10*clock.Second, func(at clock.Time) {
		if gap := at - last; at > 3*clock.Second {
			require.GreaterOrEqual(t, gap, clock.Second/44, "at %v frames are %v apart", at.Sub(0), gap.Sub(0))
			require.LessOrEqual(t, gap, clock.Second/44+1, "at %v frames are %v apart", at.Sub(0), gap.Sub(0))
		}
		last = at
	})
	assert.Equal(t, late, p.base, "the grid moved")
}

// On a computer whose wakes are up to 15 ms late, no frame is lost: the grid
// gives way instead.
func TestLateWakesCostNoFrames(t *testing.T) {
	var p pace
	p.start(0, 44)
	r := rand.New(rand.NewPCG(1, 2))
	missed, now, frames := uint64(0), clock.Time(0), 0
	for now < 60*clock.Second {
		now = p.next() + clock.Time(r.Int64N(int64(15*clock.Millisecond)))
		missed += p.takeFrame(now)
		p.recordSent(now)
		frames++
	}
	assert.Zero(t, missed)
	assert.GreaterOrEqual(t, frames, 43*60)
}

func TestMissedFramesAreCounted(t *testing.T) {
	const period = clock.Second / 44
	for _, c := range []struct {
		late clock.Time
		want uint64
	}{
		{0, 0}, {period - 1, 0}, {period, 1}, {2*period - 1, 1}, {10 * clock.Second, 440},
	} {
		var p pace
		p.start(0, 44)
		assert.Equal(t, c.want, p.takeFrame(c.late), "first wake %v late", c.late.Sub(0))
		// No burst: the next frame is due within a period, and after now.
		p.recordSent(c.late)
		next := p.next()
		assert.Greater(t, next, c.late, "next frame %v later", (next - c.late).Sub(0))
		assert.LessOrEqual(t, next, c.late+period+1, "next frame %v later", (next - c.late).Sub(0))
	}
}

// A steady timer that is always late costs no more than its lateness a second.
func TestSteadyLatenessCostsLittle(t *testing.T) {
	var p pace
	p.start(0, 44)
	frames := 0
	for now := clock.Time(0); ; frames++ {
		now = p.next() + clock.Millisecond
		if now > 100*clock.Second {
			break
		}
		require.Zero(t, p.takeFrame(now), "a frame was missed")
		p.recordSent(now)
	}
	assert.GreaterOrEqual(t, frames, 4395, "frames in 100 s with every wake 1 ms late") // 100 s · 44 / 1.001
}
