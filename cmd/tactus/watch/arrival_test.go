package watch

import (
	"reflect"
	"strings"
	"testing"

	"tactus/cmd/tactus/senders"
	"tactus/shows"
)

// A rate is printed once there is one, not as 0.0 Hz beside packets that came.
func TestWatchRate(t *testing.T) {
	var w watcher
	a := Arrival{Protocol: senders.SACN, Universe: 1, From: "10.0.0.2", Source: "Hall", Priority: 100, Status: "live", Packets: 44}
	first := w.text([]Arrival{a})
	if want := "sacn universe 1 from 10.0.0.2 \"Hall\", priority 100: live, 44 packets\n"; first != want {
		t.Errorf("have %q, want %q", first, want)
	}
	a.Rate = 43.96
	if got := w.text([]Arrival{a}); !strings.Contains(got, ": live, 44.0 Hz, 44 packets") {
		t.Errorf("have %q", got)
	}
}

func TestJoins(t *testing.T) {
	got, err := Joins("1,5-7", nil)
	if err != nil || !reflect.DeepEqual(got, []uint16{1, 5, 6, 7}) {
		t.Errorf("1,5-7 joins %v, %v", got, err)
	}
	show := &shows.Show{Outputs: shows.Outputs{Universes: []shows.Universe{
		{Name: "stage", Protocol: shows.SACN, Number: 7}, {Name: "foyer", Protocol: shows.ArtNet, Number: 3}, {Name: "paper", Protocol: shows.Virtual},
	}}}
	if got, _ := Joins("", show); !reflect.DeepEqual(got, []uint16{7}) {
		t.Errorf("a show's universes: %v, want 7", got)
	}
	for _, bad := range []string{"0", "64000", "5-3", "a", "1,,2", "-"} {
		if list, err := Joins(bad, nil); err == nil {
			t.Errorf("--universes %q joins %v", bad, list)
		}
	}
}
