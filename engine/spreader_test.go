package engine

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// spreading is an Output whose frames leave in some slices, a millisecond apart.
type spreading struct {
	slices, left int
	due          clock.Time
	frames       []clock.Time
	sent         []clock.Time // each slice
	unsent       int          // slices that were left when the next frame came
}

func (s *spreading) Send(now clock.Time, _ []dmx.Universe, _ []bool) error {
	s.unsent += s.left
	s.frames, s.left, s.due = append(s.frames, now), s.slices, now
	return nil
}

func (s *spreading) NextSlice() (clock.Time, bool) { return s.due, s.left > 0 }

func (s *spreading) SendSlice(now clock.Time) {
	if s.left > 0 && now >= s.due {
		s.sent, s.left, s.due = append(s.sent, now), s.left-1, now+clock.Millisecond
	}
}

func (s *spreading) Close() error { return nil }

// The loop sends every slice at its time, between frames that keep theirs.
func TestSlicesLeaveBetweenFrames(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		alone := &recorder{}
		s := &spreading{slices: 11}
		g := play(t, func(c *LoopConfig) { c.Outputs = []Output{alone, s}; c.Free = true })
		g.until(2 * clock.Second)
		require.NoError(t, g.end())
		assert.Len(t, s.frames, 88+1)
		assert.Equal(t, alone.at, s.frames, "frames of both outputs")
		assert.Zero(t, s.unsent, "slices that were left when the next frame came")
		require.GreaterOrEqual(t, len(s.sent), 88*11)
		for i, at := range s.sent {
			require.Equal(t, s.frames[i/11]+clock.Time(i%11)*clock.Millisecond, at, "slice %d of frame %d", i%11, i/11)
		}
		assert.Zero(t, g.snapshot().Health.Missed)
	})
}

// A loop that follows sends every slice at its time too, not with the next frame.
func TestSlicesLeaveWhileFollowing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const frames = 10
		show, steps, base := asPlayed(t), make(chan Followed, 8), clock.NewBase()
		s := &spreading{slices: 11}
		stop := start(NewLoop(LoopConfig{
			Engine: New(show), Clock: clock.NewTransport(clock.Config{}), Base: base, Outputs: []Output{s}, Followed: steps, Follows: true,
		}))
		first, frame := otherShow(t, show, 0, 0)
		steps <- first
		for n := range uint64(frames) {
			frame.Record.At, frame.Record.Frame = base.Now(), n
			steps <- frame
			time.Sleep(20 * time.Millisecond)
			synctest.Wait()
		}
		stop()
		assert.Len(t, s.frames, frames)
		assert.Zero(t, s.unsent, "slices that were left when the next frame came")
		require.Len(t, s.sent, frames*s.slices)
		for i, at := range s.sent {
			require.Equal(t, s.frames[i/11]+clock.Time(i%11)*clock.Millisecond, at, "slice %d of frame %d", i%11, i/11)
		}
	})
}
