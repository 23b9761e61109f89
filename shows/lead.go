package shows

import (
	"fmt"

	"tactus/clock"
	"tactus/shows/language"
)

// MostLead is the longest lead. Beyond it the clock could not be corrected without a
// step in the light.
const MostLead = 200 * clock.Millisecond

// compileLead reads how far ahead of the beat a universe is sent. Synchronized
// universes must have one lead.
func (c *compiler) compileLead(u *Universe, v *language.Value) {
	u.Lead = v.Get("lead").Time(0)
	if u.Protocol == Virtual || u.Protocol == SACN && c.outputs.SACN.Sync == 0 || u.Protocol == ArtNet && !c.outputs.ArtNet.Sync {
		return
	}
	for i := range c.outputs.Universes {
		other := &c.outputs.Universes[i]
		if other.Protocol != u.Protocol || other.Lead == u.Lead {
			continue
		}
		at := v.Get("lead")
		if at == nil {
			at = v
		}
		c.At(at, fmt.Sprintf("a lead of %d ms where %q has %d ms, and the two are synchronized", u.Lead/clock.Millisecond, other.Name, other.Lead/clock.Millisecond),
			"give all synchronized universes the same lead, or leave the synchronization out", "")
		return
	}
}
