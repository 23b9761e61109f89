package newrig

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// rung is a look of the ladder.
type rung struct {
	energy      int
	look        string
	light       float64 // relative luminance of the stage, 0..1 of all at full white
	fade        string
	front, back string     // roles of the front and the back of the stage
	effects     [][]string // of each list the first that the rig has
}

// rungs returns the ladder. The light is about L* 28, 34, 40, 46, 53, 59, 69 and 82 (CIE
// 15): steps that are well seen, the lowest above what counts as dark. Which roles and
// effects go with which energy is common practice, no source.
func rungs() []rung {
	return []rung{
		{0, "glow", 0.055, "2 bars", "warm", "main", nil},
		{1, "low", 0.08, "2 bars", "main", "main", [][]string{{"slow breathe"}}},
		{2, "calm", 0.11, "1 bar", "main", "second", [][]string{{"colour swing", "swell"}}},
		{3, "open", 0.15, "1 bar", "second", "main", [][]string{{"sway", "swell"}, {"look around"}}},
		{5, "warm", 0.21, "2 beats", "warm", "second", [][]string{{"outwards", "swell"}, {"nod", "look around"}}},
		{6, "strong", 0.27, "1 beat", "warm", "second", [][]string{{"take turns", "fall away"}, {"look around"}}},
		{8, "high", 0.4, "1 beat", "warm", "accent", [][]string{{"sway", "fall away"}, {"colour accents"}, {"look around"}}},
		{9, "full", 0.6, "1 beat", "warm", "accent", [][]string{{"round the stage", "take turns", "swell"}, {"warm glints"}, {"look around"}, {"nod"}}},
	}
}

// chosen returns the effects of a rung that the rig has.
func (r *rung) chosen(have []effectLine) (list []effectLine) {
	for _, names := range r.effects {
		for _, name := range names {
			if e, ok := find(have, name); ok && !slices.ContainsFunc(list, func(o effectLine) bool { return o.name == name }) {
				list = append(list, e)
				break
			}
		}
	}
	return list
}

// level returns the level, in whole percent of 6 to 100, at which a part of the stage
// gives the light of a rung, in the mean of its effects.
func (p *plot) level(r *rung, of *part, role string, effects []effectLine) int {
	light := 1.0
	if role != "" {
		light = p.luminance(role)
	}
	for i := range effects {
		e := &effects[i]
		light *= e.dimming()
		if e.moves == "colour" && of.class == p.tints {
			m, depth := e.mean(), float64(e.depth)/100
			mixed := float64(p.luminance(e.from)*(1-m)) + float64(p.luminance(e.to)*m)
			light *= (1 - depth) + float64(depth*mixed/p.luminance(role))
		}
	}
	percent := 100 * r.light / light
	if percent > 30 {
		percent = 5 * math.Round(percent/5) // as a hand writes it
	}
	return min(100, max(6, int(math.Round(percent))))
}

// set writes the levels of a part of the stage.
func (p *plot) set(of *part, role string, percent int) string {
	keys := fmt.Sprintf("intensity: %d %%", percent)
	if role != "" {
		keys = "colour: " + role + ", " + keys
	}
	return fmt.Sprintf("%s: {%s}", quote(of.target), keys)
}

// lookLines writes the look of a rung.
func (p *plot) lookLines(b *strings.Builder, r *rung, have []effectLine) {
	effects := r.chosen(have)
	fmt.Fprintf(b, "  %s:\n    fade: %s\n    set:\n", r.look, r.fade)
	for i := range p.parts {
		of := &p.parts[i]
		role := r.front
		if of.back {
			role = r.back
		}
		role = p.role(of, role)
		fmt.Fprintf(b, "      %s\n", p.set(of, role, p.level(r, of, role, effects)))
	}
	var names []string
	for i := range effects {
		names = append(names, effects[i].name)
	}
	if len(names) > 0 {
		fmt.Fprintf(b, "    effects: %s\n", listed(names))
	}
}

// ladderLines writes the ladder.
func (p *plot) ladderLines(b *strings.Builder) {
	b.WriteString("\n# The looks by energy: \"tactus draft\" writes a song's cues from it. A section has\n# the rung of its energy, or the one below.\nladder:\n  rungs:\n")
	for _, r := range rungs() {
		fmt.Fprintf(b, "    - {energy: %d, look: %s}\n", r.energy, r.look)
	}
	var begin []string
	if p.fronts != "" {
		begin = append(begin, quote(p.fronts)+": {"+p.frontColour()+"intensity: 50 %}")
	}
	if p.house != "" {
		begin = append(begin, quote(p.house)+": {intensity: 10 %}")
	}
	if len(begin) > 0 {
		b.WriteString("  # With a song's first light.\n")
		fmt.Fprintf(b, "  begin: {%s}\n", strings.Join(begin, ", "))
	}
	spoken := "  # Someone speaks: still.\n  spoken: {look: open, effects: none}\n"
	end := "  end: dark\n"
	if p.fronts != "" {
		f := quote(p.fronts)
		fmt.Fprintf(b, "  # Where nobody sings: an intro, a solo, an interlude.\n  instrumental: {%s: {intensity: 35 %%}}\n", f)
		spoken = fmt.Sprintf("  # Someone speaks: faces up, the rest low and still.\n  spoken: {look: low, effects: none, set: {%s: {intensity: 70 %%}}}\n", f)
		end = fmt.Sprintf("  end: {look: dark, set: {%s: {intensity: 20 %%}}}\n", f)
	}
	b.WriteString("  # A beat before the peak, if the lift into it is large.\n  breath: dark\n  breakdown: glow\n")
	b.WriteString(spoken + end)
}

// frontColour is the colour of front light that can have one, with a comma, or nothing.
func (p *plot) frontColour() string {
	if slices.ContainsFunc(p.usedAs(front), func(w *row) bool { return w.class != white }) {
		return "colour: warm, "
	}
	return ""
}
