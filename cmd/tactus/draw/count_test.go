package draw

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
)

// Bars and beats by counting them one by one.
func TestBarBeat(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		m, err := engine.NewMeter(rapid.IntRange(1, 32).Draw(r, "upper"), 1<<rapid.IntRange(0, 4).Draw(r, "lower"))
		require.NoError(r, err)
		n := rapid.IntRange(0, 200).Draw(r, "beats")
		rest := clock.Beat(rapid.Int64Range(0, int64(m.Beat())-1).Draw(r, "rest"))
		wantBar, wantBeat := int64(1), int64(1)
		for range n {
			if wantBeat++; wantBeat > int64(m.Beats()) {
				wantBar, wantBeat = wantBar+1, 1
			}
		}
		song := &engine.Song{Meter: m, Sections: []engine.Section{{Length: 1000 * m.Bar()}}}
		bar, beat, beats := barBeat(song, clock.Beat(n)*m.Beat()+rest)
		require.Equal(r, int64(m.Beats()), beats, "%v, beat %d", m, n)
		require.Equal(r, wantBar, bar, "%v, beat %d", m, n)
		require.Equal(r, wantBeat, beat, "%v, beat %d", m, n)
	})
}
