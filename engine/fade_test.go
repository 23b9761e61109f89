package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

// A fade never goes back and always ends, though the pulse may step back, as
// it does by less than a tick when the transport goes on after a stop.
func TestFadeNeverGoesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]Span{{}, beats(4), seconds(1), {Length: Length{Num: 1, Den: 2, Bars: true}}}).Draw(t, "span")
		pos := clock.Position{At: clock.Second, Pulse: 7 * quarter, Tempo: clock.BPM(120)}
		var f fade
		f.begin(s, s.Length.In(common), pos, 0)
		last := 0.0
		for range rapid.IntRange(0, 20).Draw(t, "frames") {
			pos.At += clock.Time(rapid.Int64Range(0, int64(clock.Second/10)).Draw(t, "time"))
			pos.Pulse += clock.Beat(rapid.Int64Range(-int64(clock.Tick), int64(quarter)).Draw(t, "pulse"))
			x := f.progress(pos)
			require.GreaterOrEqual(t, x, last)
			require.LessOrEqual(t, x, 1.0)
			last = x
		}
		pos.At += clock.Second
		pos.Pulse += 8 * quarter
		require.Equal(t, 1.0, f.progress(pos), "past its end it")
		require.False(t, f.active, "past its end it")
	})
}

// A fade that should have begun some beats ago is as far as if it had.
func TestFadeThatBeginsLate(t *testing.T) {
	pos := clock.Position{At: 10 * clock.Second, Pulse: 8 * quarter, Tempo: clock.BPM(120)}
	for _, c := range []struct {
		span Span
		late clock.Beat
		want float64
	}{
		{beats(4), quarter, 0.25}, {seconds(2), quarter, 0.25}, {beats(4), 0, 0}, {snap, 0, 1}, {beats(4), 9 * quarter, 1},
	} {
		var f fade
		f.begin(c.span, c.span.Length.In(common), pos, c.late)
		x := f.progress(pos)
		assert.True(t, near(x, c.want), "%+v, %v quarters late: %v, want %v", c.span, c.late.Quarters(), x, c.want)
	}
}
