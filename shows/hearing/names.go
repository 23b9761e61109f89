package hearing

import (
	"cmp"
	"slices"

	"tactus/shows/smf"
)

// name guesses what kind of section each is, from how often its group comes back, how strong
// it is and where it stands: a chorus comes back and is strong, a verse comes back before it
// (common practice, no source). The numbers are of this program's own making.
func (h *Heard) name() {
	s := h.Sections
	groups := map[int]*groupFacts{}
	for i := range s {
		g := groups[s[i].Group]
		if g == nil {
			g = &groupFacts{group: s[i].Group, first: i}
			groups[s[i].Group] = g
		}
		g.count++
		g.energy += s[i].Energy
		g.last = i
	}
	var again []*groupFacts // groups that come back
	for _, g := range groups {
		g.energy /= float64(g.count)
		if g.count > 1 {
			again = append(again, g)
		}
	}
	slices.SortFunc(again, func(a, b *groupFacts) int {
		return cmp.Or(cmp.Compare(b.weight(), a.weight()), cmp.Compare(a.first, b.first))
	})
	for i := range s {
		s[i].Kind = smf.Unknown
	}
	chorus := -1
	if len(again) > 0 {
		chorus = again[0].group
		h.mark(chorus, smf.Chorus)
	}
	h.markVerse(again, groups, chorus)
	h.markRest(groups, chorus)
}

type groupFacts struct {
	group, count, first, last int
	energy                    float64
}

// weight says how much speaks for the chorus: strong, and often.
func (g *groupFacts) weight() float64 { return g.energy + 0.75*float64(min(g.count, 4)) }

func (h *Heard) mark(group int, kind smf.Kind) {
	for i := range h.Sections {
		if h.Sections[i].Group == group && h.Sections[i].Kind == smf.Unknown {
			h.Sections[i].Kind = kind
		}
	}
}

// markVerse finds the verse: the longest group that comes back and begins before the first
// chorus; and what is short and leads from it to the chorus.
func (h *Heard) markVerse(again []*groupFacts, groups map[int]*groupFacts, chorus int) {
	if chorus < 0 {
		return
	}
	first, verse, bars := groups[chorus].first, -1, 0
	for _, g := range again {
		if b := h.Sections[g.first].Bars * g.count; g.group != chorus && g.first < first && b > bars {
			verse, bars = g.group, b
		}
	}
	if verse >= 0 {
		h.mark(verse, smf.Verse)
	}
	for _, g := range again {
		s := h.Sections
		if g.group == chorus || g.group == verse || g.last+1 >= len(s) || s[g.first].Bars > 8 {
			continue
		}
		before := 0
		for i := range len(s) - 1 {
			if s[i].Group == g.group && s[i+1].Group == chorus {
				before++
			}
		}
		if before == g.count {
			h.mark(g.group, smf.PreChorus)
		}
	}
}

// markRest names what stands alone by its place.
func (h *Heard) markRest(groups map[int]*groupFacts, chorus int) {
	s := h.Sections
	middle := make([]float64, len(s))
	for i := range s {
		middle[i] = s[i].Energy
	}
	usual := percentile(middle, 0.5)
	for i := range s {
		x := &s[i]
		if x.Kind != smf.Unknown {
			continue
		}
		g := groups[x.Group]
		switch {
		case i == 0 && len(s) > 1:
			x.Kind = smf.Intro
		case i == len(s)-1 && len(s) > 2:
			x.Kind = smf.Outro
		case g.count > 1:
			x.Kind = smf.Interlude
		case chorus >= 0 && i < groups[chorus].first:
			x.Kind = smf.Verse
		case 2*i >= len(s) && x.Energy < usual-1:
			x.Kind = smf.Breakdown
		case 2*i >= len(s):
			x.Kind = smf.Bridge
		default:
			x.Kind = smf.Interlude
		}
	}
}
