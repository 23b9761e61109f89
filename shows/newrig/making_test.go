package newrig_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/shows/newrig"
)

func TestTry(t *testing.T) {
	m, err := newrig.Make(&newrig.Description{Fixtures: []newrig.Fixture{{Count: 4, Profile: "dimmer-rgbw", Place: "front truss"}, {Count: 4, Profile: "dimmer-rgb", Place: "back"}, {Count: 2, Profile: "dimmer", Place: "hall"}, {Profile: "dimmer", Place: "house"}, {Profile: "hazer"}, {Profile: "head-rgbw", Count: 2, Place: "back floor"}}})
	require.NoError(t, err)
	for _, n := range []string{"rig.yaml", "looks.yaml", newrig.FirstSong} {
		fmt.Println(string(m.Files[n]))
	}
	fmt.Println(m.Remarks)
}
