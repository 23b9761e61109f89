package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// Half and double time take hold on the beat, and effects never jump.
func TestFeelTakesHoldOnTheBeat(t *testing.T) {
	p := hall(t)
	s := newStage(p)
	s.send(Command{Kind: SelectSong})
	s.transport("start", "")
	require.NoError(t, s.play(24*quarter+quarter/2))
	at := func() clock.Beat { return s.engine.feel.effectBeat(s.engine.effectsPlace(p, s.pos)) }
	kinds := []CommandKind{HalfTime, DoubleTime, HalfTime, StraightTime, StraightTime, DoubleTime}
	rates := []clock.Beat{1, 4, 1, 2, 2, 4} // in halves
	last, was := at(), clock.Beat(2)
	for i, kind := range kinds {
		s.send(Command{Kind: kind})
		for n := range clock.Beat(16) { // from half a beat to half a beat
			const step = quarter / 16
			rate := was
			if n >= 8 {
				rate = rates[i]
			}
			s.move(s.pos.Tempo.Span(step), step)
			s.frame()
			now := at()
			require.Equal(t, step*rate/2, now-last, "change %d, step %d: effects moved", i, n)
			last = now
		}
		was = rates[i]
	}
}

// Two changes within a beat: the later takes the place of the earlier.
func TestFeelChangedTwiceWithinABeat(t *testing.T) {
	var f feel
	f.restart(0)
	f.setRate(1, 8*quarter)
	f.setRate(4, 8*quarter)
	got := f.effectBeat(9 * quarter)
	assert.Equal(t, 10*quarter, got, "a beat after double time: at %v", got.Quarters())
	f.restart(16 * quarter)
	got = f.effectBeat(17 * quarter)
	assert.Equal(t, 18*quarter, got, "a beat into a section in double time: at %v", got.Quarters())
}
