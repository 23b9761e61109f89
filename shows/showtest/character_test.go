package showtest_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/showtest"
)

const plainSong = "song: New\ntempo: 120 bpm\nmeter: 4/4\nsections:\n  - intro: {bars: 4, energy: 1}\n  - verse 2: {bars: 4, energy: 3}\n  - solo: {bars: 4, energy: 3, sung: yes}\n  - chorus: {bars: 4, energy: 3, sung: no}\n"

// A song's characters are the built-in ones or those of the looks file, which may differ
// from a built-in one in a few tendencies.
func TestCharactersOfSongs(t *testing.T) {
	files := showtest.Yard(plainSong + "character: [calm, late night]\n")
	files["looks.yaml"].Data = append(files["looks.yaml"].Data, "characters:\n  calm: {end: held, breath: yes}\n  late night: {paths: wandering, trusses: apart, effects: [tint, slow]}\n"...)
	show := showtest.Load(t, files)
	require.Len(t, show.SongCharacters[0], 2)
	k := shows.Joined(show.SongCharacters[0])
	assert.Equal(t, "calm, late night", k.Name)
	assert.Equal(t, "slow", k.Pace, "built in")
	assert.Equal(t, "held", k.End, "from the looks file")
	assert.True(t, *k.Breath)
	assert.Equal(t, "symmetric", k.Paths, "the first word counts")
	assert.Equal(t, []string{"tint", "slow"}, k.Effects, "the first has none")
	assert.Equal(t, 1, k.AtMost)

	_, problems := shows.Load(showtest.Yard(plainSong+"character: clam\n"), shows.Options{})
	require.Len(t, problems, 1)
	assert.Contains(t, problems.Error(), `songs/new.yaml:9:12: character: no character is called "clam" (did you mean "calm"?)`)
	for _, name := range []string{"plain", "calm", "driving", "spare", "triumphant", "playful", "stormy"} {
		assert.Contains(t, problems.Error(), name)
	}
}

// The white of a character that the song names is its role warm, unless its palette has
// one. 2900 K is redder than the rig's 5600 K.
func TestWhiteOfACharacter(t *testing.T) {
	warm := func(song string) fixtures.RGB {
		return showtest.Load(t, showtest.Yard(song)).Program.Songs[0].Palette[engine.Warm]
	}
	house := warm(plainSong)
	calm := warm(plainSong + "character: calm\n")
	assert.NotEqual(t, house, calm)
	assert.Greater(t, calm[0], calm[2])
	assert.Equal(t, house, warm(plainSong+"character: plain\n"))
	own := strings.Replace(plainSong, "sections:", "palette: {warm: \"#102030\"}\nsections:", 1)
	assert.Equal(t, warm(own), warm(own+"character: calm\n"))
}

// Somebody sings, as a rule, but not in an intro or a solo; a section may say otherwise.
func TestWhoSings(t *testing.T) {
	var sung []bool
	for _, s := range showtest.Load(t, showtest.Yard(plainSong)).Program.Songs[0].Sections {
		sung = append(sung, s.Sung)
	}
	assert.Equal(t, []bool{false, true, true, false}, sung)
}
