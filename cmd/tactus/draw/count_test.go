package draw

import (
	"testing"

	"tactus/clock"
	"tactus/engine"

	"pgregory.net/rapid"
)

// Bars and beats by counting them one by one.
func TestBarBeat(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		m, err := engine.NewMeter(rapid.IntRange(1, 32).Draw(r, "upper"), 1<<rapid.IntRange(0, 4).Draw(r, "lower"))
		if err != nil {
			r.Fatal(err)
		}
		n := rapid.IntRange(0, 200).Draw(r, "beats")
		rest := clock.Beat(rapid.Int64Range(0, int64(m.Beat())-1).Draw(r, "rest"))
		wantBar, wantBeat := int64(1), int64(1)
		for range n {
			if wantBeat++; wantBeat > int64(m.Beats()) {
				wantBar, wantBeat = wantBar+1, 1
			}
		}
		song := &engine.Song{Meter: m, Sections: []engine.Section{{Length: 1000 * m.Bar()}}}
		if bar, beat, beats := barBeat(song, clock.Beat(n)*m.Beat()+rest); beats != int64(m.Beats()) || bar != wantBar || beat != wantBeat {
			r.Fatalf("%v, beat %d: bar %d beat %d, want bar %d beat %d", m, n, bar, beat, wantBar, wantBeat)
		}
	})
}
