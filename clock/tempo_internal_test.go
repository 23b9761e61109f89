package clock

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTempoTable holds tempo arithmetic to the intervals of the reference
// table: ms a quarter, ms a MIDI clock, seconds a bar of four.
func TestTempoTable(t *testing.T) {
	rows := readCSV(t, "clock-intervals.csv")
	require.GreaterOrEqual(t, len(rows), 15, "rows")
	for _, row := range rows {
		tempo := BPM(row[0])
		for _, c := range []struct {
			what string
			b    Beat
			ms   float64
		}{{"quarter", Quarter, row[1]}, {"clock", Tick, row[2]}, {"bar", 4 * Quarter, row[7] * 1000}} {
			if got := float64(tempo.Span(c.b)) / 1e6; math.Abs(got-c.ms) > 2e-6 {
				assert.InDelta(t, 1, got/c.ms, 3e-7, "%v: a %s is %.6f ms", tempo, c.what, got)
			}
		}
		assert.InDelta(t, row[2], periodOf(tempo)/1e6, 1e-6, "%v: tick period in ms", tempo)
		// The frame grid: 44 a second.
		assert.InDelta(t, row[5], 44*float64(tempo.Span(Quarter))/1e9, 1e-5, "%v: frames a quarter", tempo)
	}
}

func TestTickCountsToTheTable(t *testing.T) {
	// Ticks at the table's intervals are read back as the table's tempo.
	for _, row := range readCSV(t, "clock-intervals.csv") {
		l := &lock{}
		l.restart(0, periodOf(BPM(100)))
		for i := range 97 {
			l.tick(Time(float64(i) * row[2] * 1e6))
		}
		got := l.line.tempo().BPM()
		assert.InDelta(t, row[0], got, 1e-4*row[0], "ticks at %v ms read as %v BPM", row[2], got)
	}
}
