package shows_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/position"
)

// The song "Three" of good/everything, counted by hand. Quarters from its start:
// intro 2 × 4; verse 1: 4 4 2 4; bridge 6 × 3; verse 2: 4, then 3 × 7/4.
func TestChangesOfASong(t *testing.T) {
	show, problems := shows.Load(folder(t, filepath.Join(shelf, "good", "everything")), shows.Options{})
	require.NotNil(t, show, problems)
	var song *engine.Song
	for i := range show.Program.Songs {
		if show.Program.Songs[i].Name == "Three" {
			song = &show.Program.Songs[i]
		}
	}
	const q = clock.Quarter
	for i, want := range []clock.Beat{8 * q, 14 * q, 18 * q, 4*q + 21*q/4} {
		got := song.Sections[i].Length
		assert.Equal(t, want, got, "%s has %v quarters, want %v", song.Sections[i].Name, got.Quarters(), want.Quarters())
	}
	for _, c := range []struct {
		at   string
		beat clock.Beat
		time float64 // seconds, by hand: 60/120 s a quarter, then 60/90.5, …
	}{
		{"verse 1", 8 * q, 4},
		{"verse 1, bar 4", 18 * q, 4 + 10*60/90.5},
		{"verse 1, bar 4 beat 4", 21 * q, 4 + 10*60/90.5 + 3*60/96.0},
		{"bridge", 22 * q, 4 + 10*60/90.5 + 4*60/96.0},
		{"bridge - 1 beat", 21 * q, 4 + 10*60/90.5 + 3*60/96.0},
		// A dotted quarter a second; then a bar later 61, half a bar on 62.
		{"bridge, bar 2 beat 2", 22*q + 9*q/2, 4 + 10*60/90.5 + 4*60/96.0 + 2 + 60/61.0},
		{"bridge end - 1 bar", 37 * q, 4 + 10*60/90.5 + 4*60/96.0 + 2 + 60/61.0 + 7*60/62.0},
		{"verse 2 - 1 bar", 37 * q, 4 + 10*60/90.5 + 4*60/96.0 + 2 + 60/61.0 + 7*60/62.0},
		// 62 dotted quarters are 93 quarters a minute, which stay.
		{"verse 2, bar 2 beat 7", 44*q + 6*q/4, 4 + 10*60/90.5 + 4*60/96.0 + 2 + 60/61.0 + 9*60/62.0 + 5.5*60/93},
	} {
		at, fault := position.Find(song, c.at)
		assert.Nil(t, fault, "%s is at %v quarters (%v), want %v", c.at, at.Quarters(), fault, c.beat.Quarters())
		assert.Equal(t, c.beat, at, "%s is at %v quarters (%v), want %v", c.at, at.Quarters(), fault, c.beat.Quarters())
		got := float64(song.TimeAt(at)) / 1e9
		assert.GreaterOrEqual(t, got, c.time-1e-7, "%s is at %v s", c.at, got)
		assert.LessOrEqual(t, got, c.time+1e-7, "%s is at %v s", c.at, got)
	}
	for at, want := range map[clock.Beat]string{
		17 * q:            "verse 1, bar 3 beat 2",
		18 * q:            "verse 1, bar 4 beat 1",
		25*q + 3*q/2:      "bridge, bar 2 beat 2",
		44*q + 13*q/4:     "verse 2, bar 3 beat 7",
		song.Length() - 1: "verse 2, bar 4 beat 7",
	} {
		assert.Equal(t, want, position.Name(song, at), "%v quarters", at.Quarters())
	}
}

// What is printed of a place is found again, whatever the meters.
func TestPositionsOfChangingSongs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		song := changing(t)
		for at := clock.Beat(0); at < song.Length(); at = song.NextBeat(at) {
			name := position.Name(song, at)
			back, fault := position.Find(song, name)
			require.Nil(t, fault, "%v quarters are %q, which is found at %v (%v)", at.Quarters(), name, back.Quarters(), fault)
			require.Equal(t, at, back, "%v quarters are %q, which is found at %v (%v)", at.Quarters(), name, back.Quarters(), fault)
		}
	})
}

// bare is a show of one song that lights nothing.
func bare(song *engine.Song) *engine.Program {
	return &engine.Program{Songs: []engine.Song{*song}, SetList: []int32{0}, WalkIn: engine.None, Patch: &fixtures.Patch{}, Notes: engine.NewNotes()}
}

// changing draws a song whose meter and tempo change.
func changing(t *rapid.T) *engine.Song {
	meter := rapid.Custom(func(t *rapid.T) engine.Meter {
		return engine.Meter{Upper: rapid.Uint8Range(1, 13).Draw(t, "upper"), Lower: rapid.SampledFrom([]uint8{1, 2, 4, 8, 16}).Draw(t, "lower")}
	})
	tempo := rapid.Map(rapid.IntRange(10, 500), func(n int) clock.Tempo { return clock.BPM(float64(n)) })
	s := &engine.Song{Name: "Changing", Meter: meter.Draw(t, "meter"), Tempo: tempo.Draw(t, "tempo"), Program: -1}
	at := clock.Beat(0)
	for i := range rapid.IntRange(1, 5).Draw(t, "sections") {
		c := engine.Section{Name: fmt.Sprintf("part %d", i+1), Start: at, Note: uint8(60 + i)}
		for range rapid.IntRange(1, 6).Draw(t, "bars") {
			if at > 0 && rapid.IntRange(0, 2).Draw(t, "changes") == 0 {
				if m := meter.Draw(t, "meter"); m != s.MeterAt(at) {
					s.Meters = append(s.Meters, engine.MeterChange{At: at, Meter: m})
				}
			}
			m := s.MeterAt(at)
			if rapid.IntRange(0, 2).Draw(t, "tempos") == 0 {
				if b := at + clock.Beat(rapid.IntRange(0, m.Beats()-1).Draw(t, "beat"))*m.Beat(); b > 0 {
					s.Tempos = append(s.Tempos, engine.TempoChange{At: b, Tempo: tempo.Draw(t, "tempo")})
				}
			}
			at += m.Bar()
		}
		c.Length = at - c.Start
		s.Sections = append(s.Sections, c)
	}
	return s
}
