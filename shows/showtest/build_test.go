package showtest_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/showtest"
)

const buildSong = `song: New
tempo: 120 bpm
meter: 4/4
sections:
  - verse: {bars: 8, energy: 3, look: low, build: rise}
  - bridge: {bars: 5, energy: 3, look: mid, build: {goes: ebb, from: 60 %, path: left-right, depth: 20 %, double time: yes}}
  - chorus: {bars: 4, energy: 8, look: high}
cues:
  - {at: "verse, bar 3", effects: tint}
  - {at: chorus - 1 beat, look: "off", fade: 1/2 beat}
  - {at: "chorus, bar 2", build: rise}
  - {at: "chorus, bar 3", build: none}
  - {at: chorus end, look: "off", fade: 1 bar, lands: yes}
`

// A build runs from its cue to the end of the section, through later cues; a cue before
// the next section has none.
func TestBuildsOfCues(t *testing.T) {
	p := showtest.Load(t, showtest.Yard(buildSong)).Program
	song := &p.Songs[0]
	const bar = 4 * clock.Quarter
	got := map[clock.Beat]*engine.Build{}
	for i := range song.Cues {
		got[song.Cues[i].At] = song.Cues[i].Build
	}
	verse := got[0]
	require.NotNil(t, verse)
	assert.Equal(t, engine.Build{Until: 8 * bar, Middle: 4 * bar, Low: 0.35, Depth: 0.5, Joins: verse.Joins, Span: verse.Span}, *verse)
	assert.Same(t, verse, got[2*bar], "the cue inside the section goes on with it")
	bridge := got[8*bar]
	require.NotNil(t, bridge)
	assert.Equal(t, engine.Build{
		From: 8 * bar, Until: 13 * bar, Middle: 10 * bar, Ebbs: true, Low: 0.6, Depth: 0.2, DoubleTime: true,
		Joins: bridge.Joins, Span: 0.5,
	}, *bridge, "double time ends on a bar")
	for h := range p.Heads {
		join := bridge.Joins[h]
		if p.Heads[h].Keep {
			assert.Less(t, join, 0., p.Heads[h].Name)
			continue
		}
		assert.GreaterOrEqual(t, join, 0., p.Heads[h].Name)
		assert.LessOrEqual(t, join, 1-bridge.Span, p.Heads[h].Name)
	}
	assert.Nil(t, got[13*bar-clock.Quarter], "the pickup into the chorus")
	assert.Nil(t, got[13*bar])
	require.NotNil(t, got[14*bar])
	assert.Equal(t, 14*bar, got[14*bar].From)
	assert.Nil(t, got[15*bar], "none ends it")
	assert.Contains(t, got, 16*bar, "the fade that lands on the end begins a bar before it")
}

// The song's end is a place for a cue, once.
func TestCuesAtTheEnd(t *testing.T) {
	const song = "song: New\ntempo: 120 bpm\nmeter: 4/4\nsections:\n  - verse: {bars: 8, energy: 3, look: low}\ncues:\n  - {at: verse end, look: \"off\", fade: snap}\n"
	p := showtest.Load(t, showtest.Yard(song)).Program
	last := p.Songs[0].Cues[len(p.Songs[0].Cues)-1]
	assert.Equal(t, p.Songs[0].Length(), last.At)
	for text, want := range map[string]string{
		song + "after the end: low\n":                                          `a second cue at the song's end; "after the end" on line 8 is one`,
		song + "  - {at: verse end + 1 beat, look: low}\n":                     "lies outside the song",
		strings.Replace(song, "look: \"off\", fade: snap}", "build: rise}", 1): "a build needs a section to grow in",
	} {
		_, problems := shows.Load(showtest.Yard(text), shows.Options{})
		require.NotEmpty(t, problems, text)
		assert.Contains(t, problems.Error(), want)
	}
}
