package shows

import (
	"fmt"

	"tactus/clock"
	"tactus/shows/language"
)

// MostLead is as far ahead of the beat as light can be rendered, so that the
// clock can still be corrected without a step.
const MostLead = 200 * clock.Millisecond

// compileLead sets how far ahead a universe is sent. Synchronized universes act
// together, so they have to leave together.
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
