package draw

import (
	"testing"

	"tactus/clock"
	"tactus/engine"

	"pgregory.net/rapid"
)

func TestPosition(t *testing.T) {
	four := song("a", engine.Meter{Upper: 4, Lower: 4}, 96_000_000)
	nine := song("b", engine.Meter{Upper: 9, Lower: 8}, 96_000_000)
	seven := song("c", engine.Meter{Upper: 7, Lower: 8}, 96_000_000)
	for _, c := range []struct {
		song *engine.Song
		at   clock.Beat
		want string
	}{
		{&four, 0, "intro, bar 1 beat 1"},
		{&four, 16*quarter - 1, "intro, bar 4 beat 4"},
		{&four, 16 * quarter, "verse 1, bar 1 beat 1"},
		{&four, (4+8+8+8)*4*quarter + 8*quarter, "chorus 2, bar 3 beat 1"},
		{&four, four.Length(), "after outro, bar 1 beat 1"},
		{&four, -1, "1 beat before intro"},
		{&four, -5 * quarter, "5 beats before intro"},
		{&nine, 9*quarter/2 + 3*quarter, "intro, bar 2 beat 3"},
		{&seven, 7*quarter/2 + 3*quarter, "intro, bar 2 beat 7"},
		{&engine.Song{Meter: four.Meter}, 5 * quarter, "bar 2 beat 2"},
	} {
		if got := string(appendPosition(nil, c.song, c.at)); got != c.want {
			t.Errorf("%v quarters of %v: have %q, want %q", c.at.Quarters(), c.song.Meter, got, c.want)
		}
	}
}

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
		if bar, beat := barBeat(m, clock.Beat(n)*m.Beat()+rest); bar != wantBar || beat != wantBeat {
			r.Fatalf("%v, beat %d: bar %d beat %d, want bar %d beat %d", m, n, bar, beat, wantBar, wantBeat)
		}
	})
}
