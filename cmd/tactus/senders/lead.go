package senders

import (
	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
)

// LeadsOf returns the lead of each universe, and the largest of them. Universes that are
// not sent get the largest lead, so that no extra frames are made for them.
func LeadsOf(o *shows.Outputs) (leads []clock.Time, most clock.Time) {
	for i := range o.Universes {
		most = max(most, o.Universes[i].Lead)
	}
	for i := range o.Universes {
		lead := o.Universes[i].Lead
		if o.Universes[i].Protocol == shows.Virtual {
			lead = most
		}
		leads = append(leads, lead)
	}
	return leads, most
}

// checkSyncedLeads refuses universes that are synchronized with each other but leave at
// different moments. A show file cannot have them; --protocol can bring them
// together.
func checkSyncedLeads(o *shows.Outputs, universes []target) error {
	leads, _ := LeadsOf(o)
	for _, p := range []struct {
		protocol shows.Protocol
		synced   bool
	}{{shows.SACN, o.SACN.Sync != 0}, {shows.ArtNet, o.ArtNet.Sync}} {
		first := -1
		for i := range universes {
			if !p.synced || universes[i].Protocol != p.protocol {
				continue
			}
			if first < 0 {
				first = i
			}
			if leads[i] != leads[first] {
				return usage.Errorf("--protocol brings %q with a lead of %d ms and %q with %d ms together, which would be synchronized and have to leave at once; give both the same lead in rig.yaml, or leave the synchronization out",
					universes[first].Name, leads[first]/clock.Millisecond, universes[i].Name, leads[i]/clock.Millisecond)
			}
		}
	}
	return nil
}
