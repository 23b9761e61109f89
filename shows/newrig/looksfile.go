package newrig

import (
	"fmt"
	"slices"
	"strings"

	"tactus/fixtures"
)

// looksFile writes looks.yaml.
func (p *plot) looksFile() []byte {
	var b strings.Builder
	have := p.effects()
	b.WriteString("# yaml-language-server: $schema=schema/looks.schema.json\n#\n" +
		"# Looks are states of light, effects are waves over them. Both are for every song:\n" +
		"# colours go by their role (main, second, accent, warm), and each song may say what\n" +
		"# those are. These were made to fit the rig; change them to your taste.\n\n")
	if p.tints == hued {
		b.WriteString("# The colours of the house, for looks outside songs and songs without their own.\n")
	} else {
		b.WriteString("# This rig shows no hues, so the house has whites. A song may have its own colours.\n")
	}
	var roles []string
	for _, c := range p.palette() {
		roles = append(roles, c.role+": "+quote(c.colour))
	}
	fmt.Fprintf(&b, "palette: {%s}\n\nlooks:\n", strings.Join(roles, ", "))
	p.outsideSongs(&b)
	b.WriteString("\n  # From quiet to loud: energy 0 ...\n")
	list := rungs()
	for i := range list {
		if i == len(list)-1 {
			b.WriteString("  # ... to 10.\n")
		}
		p.lookLines(&b, &list[i], have)
	}
	p.dark(&b)
	b.WriteString("\n# CAUTION: light that flashes can hurt people. Nothing here goes up and down more\n" +
		"# often than once a bar; look at the period when you change one, and mind that several\n# effects add up.\neffects:\n")
	for i := range have {
		fmt.Fprintf(&b, "  # %s\n  %s\n", have[i].about, have[i].line())
	}
	p.ladderLines(&b)
	return []byte(b.String())
}

// outsideSongs writes the looks of a set: walk-in, talk, walk-out.
func (p *plot) outsideSongs(b *strings.Builder) {
	b.WriteString("  # Before and after, and for a talk.\n")
	p.outside(b, "walk-in", "5 s", 70, 35, "main", 25, "haze: 15 %", "fan: 30 %")
	p.outside(b, "talk", "3 s", -1, 70, "second", 20)
	p.outside(b, "walk-out", "5 s", 100, 50, "warm", 50, "haze: 0 %", "fan: 0 %")
}

// outside writes a look with levels, in percent, of house lights (below 0: left out),
// front light and stage, and what hazers do.
func (p *plot) outside(b *strings.Builder, name, fade string, house, front int, role string, stage int, haze ...string) {
	fmt.Fprintf(b, "  %s:\n    fade: %s\n    set:\n", name, fade)
	if p.house != "" && house >= 0 {
		fmt.Fprintf(b, "      %s: {intensity: %d %%}\n", quote(p.house), house)
	}
	if p.fronts != "" {
		fmt.Fprintf(b, "      %s: {%sintensity: %d %%}\n", quote(p.fronts), p.frontColour(), front)
	} else if name == "talk" {
		stage = 50 // faces are lit by what there is
	}
	p.stageLines(b, role, stage)
	if p.hazers != "" && len(haze) > 0 {
		var can []string
		for i, param := range []fixtures.Param{fixtures.Haze, fixtures.Fan} {
			if slices.ContainsFunc(p.usedAs(hazer), func(w *row) bool { return w.profile.Has(param) }) {
				can = append(can, haze[i])
			}
		}
		fmt.Fprintf(b, "      %s: {%s}\n", quote(p.hazers), strings.Join(can, ", "))
	}
}

// dark writes the look that counts as dark.
func (p *plot) dark(b *strings.Builder) {
	b.WriteString("  # A breath before a peak, and the end of songs. CAUTION: people cannot find their way\n  # by it; keep it short, and keep emergency lighting apart from this program.\n  dark:\n    fade: 1 beat\n    set:\n")
	p.stageLines(b, "second", 4)
}

// stageLines sets the whole stage to a role and a level: in one line if all of it shows
// the same kind of colours.
func (p *plot) stageLines(b *strings.Builder, role string, percent int) {
	list := p.parts
	if !slices.ContainsFunc(list, func(o part) bool { return o.class != list[0].class }) {
		list = []part{{target: p.all, class: list[0].class}}
	}
	for i := range list {
		fmt.Fprintf(b, "      %s\n", p.set(&list[i], p.role(&list[i], role), percent))
	}
}
