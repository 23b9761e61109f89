package senders

import (
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
)

func TestLeadsOf(t *testing.T) {
	leads, most := LeadsOf(&shows.Outputs{Universes: []shows.Universe{
		{Protocol: shows.SACN, Lead: 10}, {Protocol: shows.Virtual}, {Protocol: shows.ArtNet, Lead: 40}, {Protocol: shows.SACN},
	}})
	assert.EqualValues(t, 40, most, "the most")
	assert.Equal(t, []clock.Time{10, 40, 40, 0}, leads, "the most")
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
		universes, err := targets(c.outputs.Universes, &Options{Protocol: c.flag})
		require.NoError(t, err)
		err = checkSyncedLeads(c.outputs, universes)
		if c.want {
			assert.NoError(t, err, "--protocol %q, leads 40 ms and %v", c.flag, c.outputs.Universes[1].Lead.Sub(0))
		}
		var usage usage.Error
		if !c.want {
			assert.ErrorAs(t, err, &usage, "--protocol %q", c.flag)
			assert.ErrorContains(t, err, `"stage" with a lead of 40 ms and "foyer" with 0 ms`, "--protocol %q", c.flag)
		}
	}
	_, err := Open(show(7, false, 0), &Options{Protocol: "sacn"}, zerolog.Nop())
	assert.ErrorContains(t, err, "synchronized")
}
