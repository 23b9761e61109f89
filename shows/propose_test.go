package shows_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
