package find_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/shows"
	"tactus/shows/find"
	"tactus/shows/position"
	"tactus/shows/showtest"
)

func TestFindPlace(t *testing.T) {
	show := showtest.Demo(t)
	bar := 4 * clock.Quarter
	for text, want := range map[string]night.Place{
		"Lanterns on the Pier":                   {Song: 1, Look: engine.None},
		"lanterns, chorus 2, bar 3 beat 1":       {Song: 1, Look: engine.None, Section: 5, At: 30 * bar},
		"lanterns on the pier, bridge - 1 beat":  {Song: 1, Look: engine.None, Section: 3, At: 24*bar - clock.Quarter},
		"Lanterns on the Pier, bridge, pass 3":   {Song: 1, Look: engine.None, Section: 4, At: 24 * bar, Pass: 3},
		"lanterns, bridge, pass 2, bar 2 beat 4": {Song: 1, Look: engine.None, Section: 4, At: 25*bar + 3*clock.Quarter, Pass: 2},
		"lanterns, bridge 2, bar 2 beat 4":       {Song: 1, Look: engine.None, Section: 4, At: 25*bar + 3*clock.Quarter, Pass: 2},
		"lanterns, bridge 2 + 1 bar":             {Song: 1, Look: engine.None, Section: 4, At: 25 * bar, Pass: 2},
		"lanterns,chorus 1, bar 2":               {Song: 1, Look: engine.None, Section: 3, At: 17 * bar},
		"talk":                                   {Song: engine.None, Look: 1, Section: engine.None},
	} {
		want.Pass = max(1, want.Pass)
		got, fault := find.Place(show, text)
		assert.Nil(t, fault, "%q is %+v (%v)", text, got, fault)
		assert.Equal(t, want, got, "%q is %+v (%v)", text, got, fault)
	}
	const songs = "songs are: Home by the Breakwater, Lanterns on the Pier, Saturday on the Slipway"
	const sections = "sections are: intro, verse, pre-chorus, chorus 1, bridge, chorus 2, outro"
	for text, want := range map[string]string{
		"lantern":                     `position: no song "lantern" (did you mean "lanterns"?); ` + songs,
		"Lanterns on the Peer, intro": `position: no song "Lanterns on the Peer" (did you mean "Lanterns on the Pier"?); ` + songs,
		"walk-on":                     `position: no song "walk-on" (did you mean "walk-in"?); ` + songs,
		"talk, bar 2":                 `position: no song "talk" (did you mean "talk"?); ` + songs,
		"":                            `position: no song ""; ` + songs,
		"lanterns, chrous 2":          `position: no section "chrous 2" (did you mean "chorus 2"?); ` + sections,
		"lanterns, chorus 3":          `position: no section "chorus 3" (did you mean "chorus 1"?); ` + sections,
		"lanterns, brigde 2":          `position: no section "brigde 2" (did you mean "bridge"?); ` + sections,
		"lanterns,":                   `position: no section ""; ` + sections,
		"lanterns, chorus, pass 2":    `position: "chorus" comes more than once; say which, such as chorus 1`,
		"lanterns, bridge, bar 5":     `position: bridge has no bar 5; it has 4`,
		"lanterns, bridge 2, bar 5":   `position: bridge has no bar 5; it has 4`,
	} {
		if got, fault := find.Place(show, text); assert.NotNil(t, fault, "%q: %+v", text, got) {
			assert.Equal(t, want, fault.Error(), "%q: %+v", text, got)
		}
	}
}

// What placeName prints, Place reads as the same place.
func TestPlacesRoundTrip(t *testing.T) {
	show := showtest.Demo(t)
	rapid.Check(t, func(t *rapid.T) {
		at := showtest.Place(t, show)
		text := placeName(show, at)
		got, fault := find.Place(show, text)
		if at.Song != engine.None {
			at.At = at.At.FloorTo(show.Program.Songs[at.Song].Meter.Beat())
		}
		require.Nil(t, fault, "prints as %q", text)
		require.Equal(t, at, got, "prints as %q", text)
	})
}

func FuzzFindPlace(f *testing.F) {
	show := showtest.Demo(f)
	for _, seed := range []string{"lanterns, chorus 2, bar 3 beat 1", "lanterns, bridge - 1/2 beat", "lanterns, bridge, pass 3, bar 2", "walk-in", ",", "lanterns, 1 1 + 9/9 bars"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		at, fault := find.Place(show, text)
		if fault != nil {
			return
		}
		if at.Song == engine.None {
			return
		}
		song := &show.Program.Songs[at.Song]
		s := &song.Sections[at.Section]
		require.GreaterOrEqual(t, at.At, s.Start, "%q", text)
		require.Less(t, at.At, s.Start+s.Length, "%q", text)
		require.GreaterOrEqual(t, at.Pass, 1, "%q", text)
	})
}

// placeName prints a place, rounded down to whole beats, as Place reads it.
func placeName(s *shows.Show, at night.Place) string {
	if at.Song == engine.None {
		return s.Program.Looks[at.Look].Name
	}
	song := &s.Program.Songs[at.Song]
	name := position.Name(song, at.At)
	if at.Pass > 1 {
		section, in, _ := strings.Cut(name, ",")
		name = fmt.Sprintf("%s, pass %d,%s", section, at.Pass, in)
	}
	return song.Name + ", " + name
}

func TestFindFixture(t *testing.T) {
	show := showtest.Demo(t)
	f, head, fault := find.Fixture(show, "wash 3")
	assert.EqualValues(t, 2, f, "wash 3")
	assert.Zero(t, head, "wash 3")
	assert.Nil(t, fault, "wash 3")
	for name, want := range map[string]string{
		"wahs 3": `position: no fixture "wahs 3" (did you mean "wash 3"?); fixtures are: `,
		"fronts": `position: "fronts" is a group (did you mean "front 1"?); fixtures are: `,
	} {
		if _, _, fault := find.Fixture(show, name); assert.NotNil(t, fault, "%q", name) {
			assert.True(t, strings.HasPrefix(fault.Error(), want), "%q", name)
		}
	}
}
