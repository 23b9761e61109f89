package watch

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/cmd/tactus/senders"
	"tactus/shows"
)

// A rate is printed once there is one, not as 0.0 Hz beside packets that came.
func TestWatchRate(t *testing.T) {
	var w watcher
	a := Arrival{Protocol: senders.SACN, Universe: 1, From: "10.0.0.2", Source: "Hall", Priority: 100, Status: "live", Packets: 44}
	first := w.text([]Arrival{a})
	assert.Equal(t, "sacn universe 1 from 10.0.0.2 \"Hall\", priority 100: live, 44 packets\n", first)
	a.Rate = 43.96
	assert.Contains(t, w.text([]Arrival{a}), ": live, 44.0 Hz, 44 packets")
}

func TestJoins(t *testing.T) {
	got, err := Joins("1,5-7", nil)
	assert.NoError(t, err, "1,5-7 joins")
	assert.Equal(t, []uint16{1, 5, 6, 7}, got, "1,5-7 joins")
	show := &shows.Show{Outputs: shows.Outputs{Universes: []shows.Universe{
		{Name: "stage", Protocol: shows.SACN, Number: 7}, {Name: "foyer", Protocol: shows.ArtNet, Number: 3}, {Name: "paper", Protocol: shows.Virtual},
	}}}
	got, _ = Joins("", show)
	assert.Equal(t, []uint16{7}, got, "a show's universes")
	for _, bad := range []string{"0", "64000", "5-3", "a", "1,,2", "-"} {
		list, err := Joins(bad, nil)
		assert.Error(t, err, "--universes %q joins %v", bad, list)
	}
}
