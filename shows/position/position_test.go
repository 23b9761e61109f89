package position_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
	"tactus/shows/position"
)

func songOf(m engine.Meter, parts ...string) *engine.Song {
	s := &engine.Song{Meter: m}
	for _, p := range parts {
		name, bars, _ := strings.Cut(p, "/")
		var n int
		fmt.Sscan(bars, &n)
		s.Sections = append(s.Sections, engine.Section{Name: name, Start: s.Length(), Length: clock.Beat(n) * m.Bar()})
	}
	return s
}

func TestPositions(t *testing.T) {
	four := engine.Meter{Upper: 4, Lower: 4}
	song := songOf(four, "intro/4", "chorus 1/8", "bridge/4", "chorus 2/8", "the end/2")
	q := clock.Quarter
	for _, c := range []struct {
		text string
		at   clock.Beat
		name string
	}{
		{"intro", 0, "intro, bar 1 beat 1"},
		{"chorus 2, bar 3 beat 1", (16 + 2) * 4 * q, "chorus 2, bar 3 beat 1"},
		{"chorus 2, bar 3", (16 + 2) * 4 * q, "chorus 2, bar 3 beat 1"},
		{"bridge - 1 beat", 12*4*q - q, "chorus 1, bar 8 beat 4"},
		{"bridge + 2 bars", 14 * 4 * q, "bridge, bar 3 beat 1"},
		{"bridge end - 1 bar", 15 * 4 * q, "bridge, bar 4 beat 1"},
		{"bridge end", 16 * 4 * q, "chorus 2, bar 1 beat 1"},
		{"the end, bar 2 beat 4", 25*4*q + 3*q, "the end, bar 2 beat 4"},
		{"the end end - 1/2 beat", 26*4*q - q/2, "the end, bar 2 beat 4"},
		{"chorus 1, bar 2 beat 3 - 3/4 bars", 5*4*q + 2*q - 3*q, "chorus 1, bar 1 beat 4"},
	} {
		at, fault := position.Find(song, c.text)
		assert.Nil(t, fault, "%q is at %d (%v)", c.text, at, fault)
		assert.Equal(t, c.at, at, "%q is at %d (%v)", c.text, at, fault)
		assert.Equal(t, c.name, position.Name(song, at), "%q", c.text)
	}
	for at, want := range map[clock.Beat]string{
		-1:                "intro - 1 beat",
		-4 * q:            "intro - 4 beats",
		26 * 4 * q:        "the end end",
		26*4*q + 2*q:      "the end end + 2 beats",
		26*4*q + q + 3333: "the end end + 1 beat",
	} {
		assert.Equal(t, want, position.Name(song, at), "beat %d", at)
	}
	assert.Equal(t, "no section", position.Name(&engine.Song{Meter: four}, 3), "a song without sections")
}

func TestFaults(t *testing.T) {
	song := songOf(engine.Meter{Upper: 6, Lower: 8}, "intro/4", "chorus 1/8", "chorus 2/8")
	for text, want := range map[string]string{
		"chrous 1":               `position: no section "chrous 1" (did you mean "chorus 1"?); sections are: intro, chorus 1, chorus 2`,
		"chorus":                 `position: "chorus" comes more than once; say which, such as chorus 1`,
		"chorus end":             `position: "chorus" comes more than once; say which, such as chorus 1`,
		"chorus 1, bar 9":        `position: chorus 1 has no bar 9; it has 8`,
		"chorus 1, bar 8 beat 3": `position: a bar of 6/8 has no beat 3; it has 2`,
		"intro - 1 beat":         `position: "intro - 1 beat" lies outside the song; it runs from intro to chorus 2 end`,
		"chorus 2 end":           `position: "chorus 2 end" lies outside the song; it runs from intro to chorus 2 end`,
	} {
		_, fault := position.Find(song, text)
		var err error
		if fault != nil {
			err = fault
		}
		assert.ErrorAs(t, err, &fault, "%q", text)
		assert.Equal(t, want, fault.Error(), "%q", text)
	}
}

// What Name prints, Find reads as the same whole beat.
func TestPositionsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, err := engine.NewMeter(rapid.IntRange(1, 32).Draw(t, "upper"), rapid.SampledFrom([]int{1, 2, 4, 8, 16}).Draw(t, "lower"))
		require.NoError(t, err)
		var parts []string
		for i := range rapid.IntRange(1, 6).Draw(t, "sections") {
			name := rapid.StringMatching(`[a-z]{1,8}(-[a-z]{1,4})?( [a-z]{1,5})?`).Draw(t, "name")
			parts = append(parts, fmt.Sprintf("%s %d/%d", name, i, rapid.IntRange(1, 40).Draw(t, "bars")))
		}
		song := songOf(m, parts...)
		at := clock.Beat(rapid.Int64Range(0, int64(song.Length())-1).Draw(t, "at"))
		text := position.Name(song, at)
		got, fault := position.Find(song, text)
		require.Nil(t, fault, "%q", text)
		require.LessOrEqual(t, got, at)
		require.Less(t, at-got, m.Beat())
		require.Equal(t, text, position.Name(song, got))
		cue := fmt.Sprintf("song: Song\ntempo: 96 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 8, energy: 3, look: embers}\ncues:\n  - {at: %q, look: dark}\n", text)
		_, problems := language.Parse("songs/song.yaml", []byte(cue))
		require.Empty(t, problems, "a cue could not stand at %q", text)
	})
}

func TestBaseName(t *testing.T) {
	for section, want := range map[string]string{"chorus 2": "chorus", "verse 12": "verse", "pre-chorus": "pre-chorus", "tune a 1": "tune a", "": ""} {
		assert.Equal(t, want, position.BaseName(section), section)
	}
}
