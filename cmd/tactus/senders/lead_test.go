package senders

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
)

func TestLeadsOf(t *testing.T) {
	leads, most := LeadsOf(&shows.Outputs{Universes: []shows.Universe{
		{Protocol: shows.SACN, Lead: 10}, {Protocol: shows.Virtual}, {Protocol: shows.ArtNet, Lead: 40}, {Protocol: shows.SACN},
	}})
	if want := []clock.Time{10, 40, 40, 0}; most != 40 || !slices.Equal(leads, want) {
		t.Errorf("leads %v, the most %v; want %v and 40", leads, most, want)
	}
}

// --protocol cannot put universes that leave at different moments under one
// synchronization.
func TestProtocolOverrideKeepsSynchronizedTogether(t *testing.T) {
	show := func(sacnSync uint16, artSync bool, lead clock.Time) *shows.Outputs {
		o := &shows.Outputs{Universes: []shows.Universe{
			{Name: "stage", Protocol: shows.SACN, Number: 1, Multicast: true, Lead: 40 * clock.Millisecond},
			{Name: "foyer", Protocol: shows.ArtNet, Broadcast: true, Lead: lead},
		}}
		o.SACN.Sync, o.ArtNet.Sync = sacnSync, artSync
		return o
	}
	for _, c := range []struct {
		outputs *shows.Outputs
		flag    string
		want    bool
	}{
		{show(7, false, 0), "", true},
		{show(7, false, 0), "sacn", false},
		{show(7, false, 0), "art-net", true},
		{show(0, true, 0), "art-net", false},
		{show(0, true, 0), "sacn", true},
		{show(7, true, 0), "virtual", true},
		{show(7, true, 40*clock.Millisecond), "sacn", true},
		{show(7, true, 40*clock.Millisecond), "art-net", true},
	} {
		universes, err := redirected(c.outputs.Universes, &Options{Protocol: c.flag})
		if err != nil {
			t.Fatal(err)
		}
		err = oneLead(c.outputs, universes)
		if c.want && err != nil {
			t.Errorf("--protocol %q, leads 40 ms and %v: %v", c.flag, c.outputs.Universes[1].Lead.Sub(0), err)
		}
		var usage usage.Error
		if !c.want && (!errors.As(err, &usage) || !strings.Contains(err.Error(), `"stage" with a lead of 40 ms and "foyer" with 0 ms`)) {
			t.Errorf("--protocol %q: %v, want a usage error that names both", c.flag, err)
		}
	}
	_, err := Open(show(7, false, 0), &Options{Protocol: "sacn"}, zerolog.Nop())
	if err == nil || !strings.Contains(err.Error(), "synchronized") {
		t.Errorf("%v, want it refused before anything is opened", err)
	}
}
