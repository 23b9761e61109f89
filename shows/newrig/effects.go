package newrig

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
)

// effectLine is an effect of looks.yaml.
type effectLine struct {
	name, about string
	on          string
	wave, moves string
	period      string
	path        string // "": all together
	spread      string // "": as the path has it
	from, to    string // roles, of colours
	depth       int    // percent
}

// effects lists the effects that suit the rig. None of them goes up and down more often
// than once a bar.
func (p *plot) effects() (list []effectLine) {
	add := func(e effectLine) { list = append(list, e) }
	across, rows := p.spread()
	add(effectLine{name: "slow breathe", about: "Together, up and down.", on: p.all, wave: "sine", moves: "intensity", period: "4 bars", depth: 30})
	add(effectLine{name: "swell", about: "Together, a rise over two bars.", on: p.all, wave: "half-sine", moves: "intensity", period: "2 bars", depth: 35})
	add(effectLine{name: "fall away", about: "Together, brightest on the bar and sinking from there.", on: p.all, wave: "fall", moves: "intensity", period: "1 bar", depth: 25})
	if across > 1 {
		add(effectLine{name: "sway", about: "From left to right and back.", on: p.all, wave: "triangle", moves: "intensity", period: "2 bars", path: "left-right", spread: "1/2 cycle", depth: 45})
		add(effectLine{name: "take turns", about: "One half of the lights, then the other.", on: p.all, wave: "half-sine", moves: "intensity", period: "2 bars", path: "alternate", depth: 40})
	}
	if across > 2 {
		add(effectLine{name: "outwards", about: "From the middle to the ends.", on: p.all, wave: "sine", moves: "intensity", period: "2 bars", path: "centre-out", spread: "1/2 cycle", depth: 40})
	}
	if across > 1 && rows > 1 {
		add(effectLine{name: "round the stage", about: "A soft dip that goes round the stage.", on: p.all, wave: "sine", moves: "intensity", period: "2 bars", path: "around", depth: 25})
	}
	if p.tinted != "" {
		path := ""
		if heads(p.tintedRows()) > 1 {
			path = "left-right"
		}
		add(effectLine{name: "colour swing", about: "From the main colour to the second and back.", on: p.tinted, wave: "sine", moves: "colour", from: "main", to: "second", period: "4 bars", path: path, depth: 60})
		add(effectLine{name: "colour accents", about: "A little of the accent colour on the bar, sinking over it.", on: p.tinted, wave: "decay", moves: "colour", from: "second", to: "accent", period: "2 bars", path: path, depth: 30})
		add(effectLine{name: "warm glints", about: "From the accent colour to warm white and back.", on: p.tinted, wave: "sine", moves: "colour", from: "accent", to: "warm", period: "2 bars", path: path, depth: 40})
	}
	for _, m := range p.motions() {
		add(m)
	}
	return list
}

// motions lists the effects on pan and tilt.
func (p *plot) motions() (list []effectLine) {
	has := func(param fixtures.Param) bool {
		return slices.ContainsFunc(p.usedAs(stage), func(w *row) bool { return slices.Contains(w.moves, param) })
	}
	if has(fixtures.Pan) {
		list = append(list, effectLine{name: "look around", about: "Slowly from side to side.", on: p.movers, wave: "sine", moves: "pan", period: "8 bars", path: "left-right", spread: "1/2 cycle", depth: 15})
	}
	if has(fixtures.Tilt) {
		list = append(list, effectLine{name: "nod", about: "Slowly up and down. CAUTION: look at where the beams go; keep them out of eyes.", on: p.movers, wave: "sine", moves: "tilt", period: "8 bars", depth: 8})
	}
	return list
}

// tintedRows are the rows that colour effects move.
func (p *plot) tintedRows() []*row {
	return p.choose(func(w *row) bool { return w.use == stage && w.class == p.tints })
}

// spread counts the places of heads from left to right, and from front to back.
func (p *plot) spread() (across, rows int) {
	xs, ys := map[string]bool{}, map[string]bool{}
	for _, w := range p.usedAs(stage) {
		for _, at := range w.points() {
			xs[metres(at[0])], ys[metres(at[1])] = true, true
		}
	}
	return len(xs), len(ys)
}

// find returns the effect of a name if the rig has it.
func find(list []effectLine, name string) (effectLine, bool) {
	i := slices.IndexFunc(list, func(e effectLine) bool { return e.name == name })
	if i < 0 {
		return effectLine{}, false
	}
	return list[i], true
}

// mean returns the mean of the effect's wave, 0..1.
func (e *effectLine) mean() float64 {
	kind, ok := engine.WaveByName(e.wave)
	if !ok {
		panic("no wave " + e.wave) // the waves are ours
	}
	w := engine.Wave{Kind: kind, High: 1, Duty: 0.5, Skew: 0.5}
	const points = 64
	sum := 0.0
	for i := range points {
		sum += w.At(clock.OneTurn * clock.Turn(i) / points)
	}
	return sum / points
}

// dimming returns the share of a level that the effect leaves in the mean, 0..1.
func (e *effectLine) dimming() float64 {
	if e.moves != "intensity" {
		return 1
	}
	return 1 - float64(float64(e.depth)/100*(1-e.mean()))
}

// line is the effect as looks.yaml has it.
func (e *effectLine) line() string {
	keys := []string{"on: " + quote(e.on), "wave: " + e.wave, "moves: " + e.moves}
	if e.from != "" {
		keys = append(keys, "from: "+e.from, "to: "+e.to)
	}
	keys = append(keys, "period: "+e.period)
	if e.path != "" {
		keys = append(keys, "path: "+e.path)
	}
	if e.spread != "" {
		keys = append(keys, "spread: "+e.spread)
	}
	return fmt.Sprintf("%s: {%s, depth: %d %%}", e.name, strings.Join(keys, ", "), e.depth)
}

// points returns the places of a row's fixtures in metres.
func (w *row) points() (list [][3]float64) {
	for i := range w.Count {
		x := 0.5
		if w.Count > 1 {
			x = float64(i) / float64(w.Count-1)
		}
		at := [3]float64{}
		for k := range at {
			at[k] = float64(w.place.From[k]*(1-x)) + float64(w.place.To[k]*x)
		}
		if w.At != nil {
			at = *w.At
		}
		list = append(list, at)
	}
	return list
}

// metres writes a measure as rig files have it, to the centimetre.
func metres(v float64) string {
	text := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", math.Round(v*100)/100), "0"), ".")
	if text == "-0" {
		text = "0"
	}
	return text + " m"
}

func quote(text string) string { return language.Quote(text) }
