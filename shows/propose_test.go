package shows_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/language"

	"pgregory.net/rapid"
	"tactus/shows"
)

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

// Slots 5 to 20 and 21 are taken: the lamp goes to 1, and the bars, 16 + 12
// slots in a row, to 22.
func TestPropose(t *testing.T) {
	list, problems, err := shows.Propose([]byte(unpatched))
	require.NoError(t, err)
	require.Empty(t, problems)
	want := "9 lamp u1 1-1\n10 bar 1-2 u1 22-49\n15 é 1 u2 1-3\n"
	got := ""
	for _, p := range list {
		got += fmt.Sprintf("%d %s %s %d-%d\n", p.Line, p.Fixture, p.Universe, p.Address, p.Last)
	}
	assert.Equal(t, want, got, "proposed")
	out, err := shows.Write([]byte(unpatched), list)
	require.NoError(t, err)
	text := strings.NewReplacer(
		"lamp: {profile", "lamp: {address: 1, profile",
		"    profile: rgb-bar-4", "    address: 22\n    profile: rgb-bar-4",
		"{universe: u2", "{address: 1, universe: u2",
	).Replace(unpatched)
	assert.Equal(t, text, string(out))
	dos := strings.ReplaceAll(unpatched, "\n", "\r\n")
	list, _, _ = shows.Propose([]byte(dos))
	out, err = shows.Write([]byte(dos), list)
	assert.NoError(t, err, "line ends of another system")
	assert.Equal(t, strings.ReplaceAll(text, "\n", "\r\n"), string(out), "line ends of another system")
}

func TestProposeRefuses(t *testing.T) {
	full := strings.Replace(unpatched, "wash 1-4", "wash 1-126", 1)
	_, _, err := shows.Propose([]byte(full))
	assert.ErrorIs(t, err, shows.ErrNoRoom, "no room")
	assert.ErrorContains(t, err, "line 10: bar 1-2 takes 28 slots in a row", "no room")
	list, problems, _ := shows.Propose([]byte(strings.Replace(unpatched, "venue", "venu", 1)))
	assert.NotEmpty(t, problems, "a fault")
	assert.Nil(t, list, "a fault")
	_, _, err = shows.Propose([]byte(strings.Replace(unpatched, "profile: rgb}", "profile: none}", 1)))
	assert.ErrorContains(t, err, "line 15", "unknown profile")
}

// Whatever is patched already, what is proposed overlaps nothing and fits.
func TestProposedFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rig := "venue: H\nuniverses:\n  u: {virtual: yes}\nfixtures:\n"
		at := 1
		for i := range rapid.IntRange(1, 20).Draw(t, "fixtures") {
			profile := rapid.SampledFrom([]string{"dimmer", "rgb", "rgb-bar-4"}).Draw(t, "profile")
			address := ""
			if rapid.Bool().Draw(t, "patched") {
				at += rapid.IntRange(0, 9).Draw(t, "gap")
				address = fmt.Sprintf(", address: %d", at)
				at += map[string]int{"dimmer": 1, "rgb": 3, "rgb-bar-4": 12}[profile]
			}
			rig += fmt.Sprintf("  f%d: {profile: %s, universe: u%s}\n", i, profile, address)
		}
		list, problems, err := shows.Propose([]byte(rig))
		require.NoError(t, err)
		require.Empty(t, problems)
		out, err := shows.Write([]byte(rig), list)
		require.NoError(t, err)
		file, problems := language.Parse("rig.yaml", out)
		_, more := shows.Compile([]*language.File{file}, shows.Options{})
		require.Empty(t, problems, string(out))
		if strings.Contains(fmt.Sprint(more), "rig.yaml") {
			require.NotContains(t, fmt.Sprint(more), "slot", string(out))
		}
	})
}
