package explain

import (
	"testing"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/shows"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func demoShow(t testing.TB) *shows.Show {
	t.Helper()
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.NoError(t, problems.Err())
	return show
}

// anyPlace draws a place in a show.
func anyPlace(t *rapid.T, show *shows.Show) night.Place {
	if rapid.IntRange(0, 9).Draw(t, "kind") == 0 {
		look := rapid.IntRange(0, len(show.Program.Looks)-1).Draw(t, "look")
		return night.Place{Song: engine.None, Look: int32(look), Section: engine.None, Pass: 1}
	}
	at := night.Place{Song: int32(rapid.IntRange(0, len(show.Program.Songs)-1).Draw(t, "song")), Look: engine.None}
	song := &show.Program.Songs[at.Song]
	at.Section = int32(rapid.IntRange(0, len(song.Sections)-1).Draw(t, "section"))
	s := &song.Sections[at.Section]
	at.At = s.Start + clock.Beat(rapid.Int64Range(0, int64(s.Length)-1).Draw(t, "at"))
	at.Pass = rapid.IntRange(1, 4).Draw(t, "pass")
	return at
}
