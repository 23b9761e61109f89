package clock_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

func TestTempoRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tempo := clock.Tempo(rapid.Int64Range(int64(clock.MinTempo), int64(clock.MaxTempo)).Draw(t, "tempo"))
		b := clock.Beat(rapid.Int64Range(0, int64(100_000*clock.Quarter)).Draw(t, "beat"))
		// A nanosecond is up to 0.056 of a Beat at 500 BPM, so a Beat comes back
		// to one part of its rounding.
		back := tempo.Beats(tempo.Span(b))
		require.LessOrEqual(t, back, b+1, "%v: %d beats come back", tempo, b)
		require.GreaterOrEqual(t, back, b-1, "%v: %d beats come back", tempo, b)
		require.Equal(t, tempo, clock.BPM(tempo.BPM()))
	})
	assert.Equal(t, "120.0 BPM", clock.BPM(120).String())
}
