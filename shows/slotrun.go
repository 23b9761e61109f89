package shows

import "tactus/fixtures"

// SlotRun is a run of slots that nothing is patched to.
type SlotRun struct {
	Universe    int // the engine's index
	First, Last int // slots, 1 to 512
}

// FreeSlots lists the runs of free slots before the last patched slot of each universe.
// They may be intended.
func FreeSlots(p *fixtures.Patch) (list []SlotRun) {
	for u := range p.Universes() {
		var taken [514]bool
		last := 0
		for _, f := range p.Placements() {
			for s := f.Address; f.Universe == u && s < f.Address+f.Profile.Footprint(); s++ {
				taken[s] = true
				last = max(last, s)
			}
		}
		for s := 1; s <= last; s++ {
			if taken[s] {
				continue
			}
			first := s
			for !taken[s+1] {
				s++
			}
			list = append(list, SlotRun{u, first, s})
		}
	}
	return list
}
