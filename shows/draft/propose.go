package draft

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
)

// Propose writes a first ladder: the show's looks by how much light they set, from
// energy 1 to 9; the darkest for the breath and the end if it is dark. Looks that a set
// uses outside songs are left out. "begin" sets every kept group with light.
func Propose(show *shows.Show) string {
	type lit struct {
		*engine.Cue
		light float64
	}
	var looks []lit
	p := show.Program
	for i := range p.Looks {
		if slices.Contains([]int32{p.WalkIn, p.WalkOut, p.Talk, p.Pad}, int32(i)) {
			continue
		}
		looks = append(looks, lit{&p.Looks[i], lightOf(p, &p.Looks[i])})
	}
	slices.SortStableFunc(looks, func(a, b lit) int { return cmp.Compare(a.light, b.light) })
	var b strings.Builder
	b.WriteString("ladder:\n  rungs:\n")
	dark := ""
	if len(looks) > 1 && shows.IsDark(p, looks[0].Cue) {
		dark, looks = looks[0].Name, looks[1:]
	}
	for i, l := range looks {
		energy := 1.0
		if len(looks) > 1 {
			energy += math.Round(float64(8*i) / float64(len(looks)-1))
		}
		fmt.Fprintf(&b, "    - {energy: %d, look: %s}\n", int(energy), language.Quote(l.Name))
	}
	b.WriteString(begin(show))
	if dark != "" {
		fmt.Fprintf(&b, "  breath: %s\n  end: %s\n", language.Quote(dark), language.Quote(dark))
	}
	return b.String()
}

// begin writes the levels that songs begin with: faces are lit, and the house lights
// are nearly out. It is empty where the rig keeps no light.
func begin(show *shows.Show) string {
	p := show.Program
	heads := flash.Heads(p.Patch)
	var levels []string
	for _, g := range show.Kept {
		lit := slices.IndexFunc(g.Heads, func(h int32) bool { return heads[h].Flux > 0 })
		if lit < 0 {
			continue
		}
		level := "50 %"
		if p.Heads[g.Heads[lit]].House {
			level = "10 %"
		}
		levels = append(levels, language.Quote(g.Name)+": {intensity: "+level+"}")
	}
	if levels == nil {
		return ""
	}
	return "  begin: {" + strings.Join(levels, ", ") + "}\n"
}

// lightOf returns the mean level, 0..1, that a look sets on heads that are not kept,
// half of it weighted by the colour's luminance (the weights of IEC 61966-2-1).
func lightOf(p *engine.Program, look *engine.Cue) float64 {
	level, tint := map[int32]float64{}, map[int32]float64{}
	for i := range look.Parts {
		part := &look.Parts[i]
		for _, h := range part.Heads {
			if part.Sets(fixtures.Intensity) {
				level[h] = part.Values[fixtures.Intensity]
			}
			if part.SetsColour {
				c := part.Colour.In(&p.HousePalette)
				tint[h] = float64(0.2126*c[0]) + float64(0.7152*c[1]) + float64(0.0722*c[2])
			}
		}
	}
	sum, heads := 0.0, 0
	for h := range p.Heads {
		if p.Heads[h].Keep {
			continue
		}
		heads++
		t, ok := tint[int32(h)]
		if !ok {
			t = 1
		}
		sum += float64(level[int32(h)] * (0.5 + float64(0.5*t)))
	}
	return sum / float64(max(1, heads))
}
