package compose_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows/compose"
	"tactus/shows/showtest"
)

// A song's number goes behind its name, in the file's own manner.
func TestNumberGoesBehindTheName(t *testing.T) {
	const sections = "sections:\n  - verse: {bars: 4, energy: 2, look: low}\n"
	for name, c := range map[string]struct{ src, want string }{
		"plain":                     {"# Why.\n\nsong: Ebb # low\ntempo: 96 bpm\nmeter: 4/4\n" + sections, "# Why.\n\nsong: Ebb # low\nprogram: 7\ntempo: 96 bpm\nmeter: 4/4\n" + sections},
		"carriage returns":          {"song: Ebb\r\ntempo: 96 bpm\r\nmeter: 4/4\r\nsections: [{verse: {bars: 4, energy: 2, look: low}}]\r\n", "song: Ebb\r\nprogram: 7\r\ntempo: 96 bpm\r\nmeter: 4/4\r\nsections: [{verse: {bars: 4, energy: 2, look: low}}]\r\n"},
		"last, without a line feed": {"tempo: 96 bpm\nmeter: 4/4\n" + sections + "song: Ebb", "tempo: 96 bpm\nmeter: 4/4\n" + sections + "song: Ebb\nprogram: 7"},
		"indented":                  {"  song: Ebb\n  tempo: 96 bpm\n  meter: 4/4\n  sections: [{verse: {bars: 4, energy: 2, look: low}}]\n", "  song: Ebb\n  program: 7\n  tempo: 96 bpm\n  meter: 4/4\n  sections: [{verse: {bars: 4, energy: 2, look: low}}]\n"},
		"on one line":               {"{song: Ebb, tempo: 96 bpm, meter: 4/4, sections: [{verse: {bars: 4, energy: 2, look: low}}]}\n", "{song: Ebb, program: 7, tempo: 96 bpm, meter: 4/4, sections: [{verse: {bars: 4, energy: 2, look: low}}]}\n"},
		"a byte order mark":         {"\ufeffsong: Ebb\ntempo: 96 bpm\nmeter: 4/4\n" + sections, "\ufeffsong: Ebb\nprogram: 7\ntempo: 96 bpm\nmeter: 4/4\n" + sections},
		"a name over several lines": {"song: >-\n  Ebb\ntempo: 96 bpm\nmeter: 4/4\n" + sections, "song: >-\n  Ebb\nprogram: 7\ntempo: 96 bpm\nmeter: 4/4\n" + sections},
		"braces over several lines": {"{song: Ebb,\ntempo: 96 bpm, meter: 4/4, sections: [{verse: {bars: 4, energy: 2, look: low}}]}\n", "{song: Ebb, program: 7,\ntempo: 96 bpm, meter: 4/4, sections: [{verse: {bars: 4, energy: 2, look: low}}]}\n"},
	} {
		s, err := compose.Open("", compose.Options{Files: showtest.Yard(c.src)})
		require.NoError(t, err, name)
		require.NotNil(t, s.Show(), s.State().Faults)
		_, err = apply(t, s, `{"do": "set song", "song": "songs/new.yaml", "key": "program", "to": 7}`)
		if assert.NoError(t, err, name) {
			assert.Equal(t, c.want, string(s.Sources()["songs/new.yaml"]), name)
		}
	}
}

// unpatched is a rig in which fixtures have no address.
const unpatched = `# The hall.
venue: Hall
universes:
  u1: {virtual: yes}   # one
  u2: {virtual: yes}
fixtures:
  # Front.
  wash 1-4: {profile: dimmer-rgb, universe: u1, address: 5}
  lamp: {profile: dimmer, universe: u1}   # no address yet
  bar 1-2: # two of them
    # on the floor
    profile: rgb-bar-4
    universe: u1
    every: 16
  é 1: {universe: u2, profile: rgb}
  lamp 2: {profile: dimmer, universe: u1, address: 21}
`

// Slots 5 to 20 and 21 are taken: the lamp goes to 1, and the bars, 16 + 12 slots in a row,
// to 22. The faults that the missing addresses are go away, though looks and song have
// others.
func TestFindAddresses(t *testing.T) {
	for _, end := range []string{"\n", "\r\n"} {
		files := showtest.Yard(yardSong)
		files["rig.yaml"].Data = []byte(strings.ReplaceAll(unpatched, "\n", end))
		s, err := compose.Open("", compose.Options{Files: files})
		require.NoError(t, err)
		require.ErrorContains(t, s.State().Faults, `"address" is missing`)
		state, err := apply(t, s, `{"do": "find addresses"}`)
		require.NoError(t, err)
		assert.NotContains(t, state.Faults.Error(), "address")
		text := strings.NewReplacer(
			"lamp: {profile: dimmer, universe: u1}", "lamp: {profile: dimmer, universe: u1, address: 1}",
			"    universe: u1\n    every", "    universe: u1\n    address: 22\n    every",
			"{universe: u2, profile", "{universe: u2, address: 1, profile",
		).Replace(unpatched)
		assert.Equal(t, strings.ReplaceAll(text, "\n", end), string(s.Sources()["rig.yaml"]))
	}
	files := showtest.Yard(yardSong)
	files["rig.yaml"].Data = []byte(strings.Replace(unpatched, "wash 1-4", "wash 1-126", 1))
	s, err := compose.Open("", compose.Options{Files: files})
	require.NoError(t, err)
	_, err = apply(t, s, `{"do": "find addresses"}`)
	require.ErrorContains(t, err, "line 10: bar 1-2 takes 28 slots in a row, and u1 has no such gap")
}

// Whatever is patched already, what is found overlaps nothing and fits.
func TestFoundAddressesFit(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rig := "venue: H\nuniverses:\n  u: {virtual: yes}\nfixtures:\n"
		at := 1
		for i := range rapid.IntRange(1, 20).Draw(rt, "fixtures") {
			profile := rapid.SampledFrom([]string{"dimmer", "rgb", "rgb-bar-4"}).Draw(rt, "profile")
			address := ""
			if rapid.Bool().Draw(rt, "patched") {
				at += rapid.IntRange(0, 9).Draw(rt, "gap")
				address = fmt.Sprintf(", address: %d", at)
				at += map[string]int{"dimmer": 1, "rgb": 3, "rgb-bar-4": 12}[profile]
			}
			rig += fmt.Sprintf("  f%d: {profile: %s, universe: u%s}\n", i, profile, address)
		}
		files := showtest.Yard(yardSong)
		files["rig.yaml"].Data = []byte(rig)
		s, err := compose.Open("", compose.Options{Files: files})
		require.NoError(rt, err)
		state, err := s.Apply(1, []compose.Edit{&compose.FindAddresses{}})
		require.NoError(rt, err)
		require.NotContains(rt, state.Faults.Error(), "slot")
		require.NotContains(rt, state.Faults.Error(), "address")
	})
}
