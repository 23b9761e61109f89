package clock

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestTempoTable holds tempo arithmetic to the intervals of the reference
// table: ms a quarter, ms a MIDI clock, seconds a bar of four.
func TestTempoTable(t *testing.T) {
	rows := readCSV(t, "clock-intervals.csv")
	if len(rows) < 15 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, row := range rows {
		tempo := BPM(row[0])
		for _, c := range []struct {
			what string
			b    Beat
			ms   float64
		}{{"quarter", Quarter, row[1]}, {"clock", Tick, row[2]}, {"bar", 4 * Quarter, row[7] * 1000}} {
			if got := float64(tempo.Span(c.b)) / 1e6; math.Abs(got-c.ms) > 2e-6 && math.Abs(got/c.ms-1) > 3e-7 {
				t.Errorf("%v: a %s is %.6f ms, want %.6f", tempo, c.what, got, c.ms)
			}
		}
		if got := periodOf(tempo) / 1e6; math.Abs(got-row[2]) > 1e-6 {
			t.Errorf("%v: tick period %.6f ms, want %.6f", tempo, got, row[2])
		}
		// The frame grid: 44 a second.
		if got := 44 * float64(tempo.Span(Quarter)) / 1e9; math.Abs(got-row[5]) > 1e-5 {
			t.Errorf("%v: %.6f frames a quarter, want %.6f", tempo, got, row[5])
		}
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
		if got := l.line.tempo().BPM(); math.Abs(got-row[0]) > 1e-4*row[0] {
			t.Errorf("ticks at %v ms read as %v BPM, want %v", row[2], got, row[0])
		}
	}
}

func TestTempoRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tempo := Tempo(rapid.Int64Range(int64(MinTempo), int64(MaxTempo)).Draw(t, "tempo"))
		b := Beat(rapid.Int64Range(0, int64(100_000*Quarter)).Draw(t, "beat"))
		// A nanosecond is up to 0.056 of a Beat at 500 BPM, so a Beat comes back
		// to one part of its rounding.
		if back := tempo.Beats(tempo.Span(b)); back > b+1 || back < b-1 {
			t.Fatalf("%v: %d beats come back as %d", tempo, b, back)
		}
		if got := BPM(tempo.BPM()); got != tempo {
			t.Fatalf("%d comes back as %d", tempo, got)
		}
	})
	if s := BPM(120).String(); s != "120.0 BPM" {
		t.Error(s)
	}
}
