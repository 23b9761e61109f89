package main

import (
	"slices"
	"testing"

	"tactus/clock"
	"tactus/shows"
)

func TestLeadsOf(t *testing.T) {
	leads, most := leadsOf(&shows.Outputs{Universes: []shows.Universe{
		{Protocol: shows.SACN, Lead: 10}, {Protocol: shows.Virtual}, {Protocol: shows.ArtNet, Lead: 40}, {Protocol: shows.SACN},
	}})
	if want := []clock.Time{10, 40, 40, 0}; most != 40 || !slices.Equal(leads, want) {
		t.Errorf("leads %v, the most %v; want %v and 40", leads, most, want)
	}
}

func TestFreeGrid(t *testing.T) {
	for _, c := range []struct {
		flag             string
		show, want, fail bool
	}{{"", true, true, false}, {"", false, false, false}, {"beat", true, false, false}, {"free", false, true, false}, {"bar", false, false, true}} {
		if got, err := freeGrid(c.flag, c.show); got != c.want || (err != nil) != c.fail {
			t.Errorf("--grid %q over %v: %v, %v", c.flag, c.show, got, err)
		}
	}
}
