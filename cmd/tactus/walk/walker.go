package walk

import (
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/paper"
)

// stop is what a walk lights at once: one fixture, one group, or all.
type stop struct {
	name  string
	where string // "stage 9-12, dimmer-rgb", or how many fixtures
	heads []int32
	lit   bool // any of it gives light: a hazer stays off
}

// Walker is the state of a walk through the rig: the present stop and colour. Typed words
// change it, and it gives the index of the look to show.
type Walker struct {
	stops    []stop
	fixtures int // the first of the stops; then groups, then all
	at       int // -1: dark
	colour   int
}

// colours are those that a walk shows, one after another.
var colours = [...]struct {
	name string
	rgb  fixtures.RGB
}{
	{"white", fixtures.RGB{1, 1, 1}},
	{"red", fixtures.RGB{1, 0, 0}},
	{"green", fixtures.RGB{0, 1, 0}},
	{"blue", fixtures.RGB{0, 0, 1}},
}

// walkFade is how long light takes to come and go: long, so that pressing keys fast
// makes no flashes.
const walkFade = clock.Second

// houseLevel is the level of what blackout spares, such as house lights, during a walk:
// people are on a dark stage.
const houseLevel = 0.5

// New begins a walk before the first fixture of a show.
func New(s *shows.Show) *Walker {
	w := &Walker{at: -1}
	p := s.Program
	heads := make([][]int32, len(p.Patch.Placements()))
	var every []int32
	for h := range p.Heads {
		heads[p.Heads[h].Fixture] = append(heads[p.Heads[h].Fixture], int32(h))
		every = append(every, int32(h))
	}
	for _, r := range paper.PatchRows(s) {
		i := slices.IndexFunc(p.Patch.Placements(), func(f fixtures.Placement) bool { return f.Name == r.Name })
		slots := fmt.Sprint(r.First)
		if r.Last > r.First {
			slots = fmt.Sprintf("%d-%d", r.First, r.Last)
		}
		w.stops = append(w.stops, stop{r.Name, fmt.Sprintf("%s %s, %s, %s", r.Universe, slots, r.Wire, r.Profile), heads[i], anyGivesLight(p, heads[i])})
	}
	w.fixtures = len(w.stops)
	for _, g := range s.Groups {
		w.stops = append(w.stops, stop{g.Name, "group of " + language.Count(len(g.Heads), "head"), g.Heads, anyGivesLight(p, g.Heads)})
	}
	w.stops = append(w.stops, stop{"all", language.Count(w.fixtures, "fixture"), every, true})
	return w
}

// anyGivesLight reports whether any of the heads gives light.
func anyGivesLight(p *engine.Program, heads []int32) bool {
	return slices.ContainsFunc(heads, func(h int32) bool {
		profile := p.Patch.Placements()[p.Heads[h].Fixture].Profile
		return !profile.Has(fixtures.Haze) && !profile.Has(fixtures.Fan)
	})
}

// Program makes a show with one look for each stop and colour, at a level of 0..1. Look
// 0: stage dark; fixtures named under "blackout spares", such as house lights, stay.
// Nothing moves, and haze is off.
func (w *Walker) Program(show *engine.Program, level float64) *engine.Program {
	p := *show
	p.Songs, p.SetList, p.Effects, p.Floors = nil, nil, nil, nil
	p.Haze = engine.DutyCycle{}
	p.Talk, p.Pad, p.WalkIn, p.WalkOut = engine.None, engine.None, 0, engine.None
	p.Notes = engine.NewNotes()
	p.Heads = slices.Clone(show.Heads)
	var spared []int32
	for h := range p.Heads {
		p.Heads[h].Keep = false
		if p.Heads[h].Spared && anyGivesLight(show, []int32{int32(h)}) {
			spared = append(spared, int32(h))
		}
	}
	part := func(heads []int32, level float64, rgb fixtures.RGB) engine.Part {
		e := engine.Part{Heads: heads, Params: 1 << fixtures.Intensity, SetsColour: true, Colour: engine.Colour{Fixed: true, RGB: rgb}}
		e.Values[fixtures.Intensity] = level
		return e
	}
	house := part(spared, houseLevel, fixtures.RGB{1, 1, 1})
	fade := engine.Span{Time: walkFade}
	p.Looks = []engine.Cue{{Name: "dark", Parts: []engine.Part{house}, Fade: fade}}
	for _, s := range w.stops {
		for _, c := range colours {
			p.Looks = append(p.Looks, engine.Cue{
				Name: s.name + ", " + c.name, Parts: []engine.Part{house, part(s.heads, level, c.rgb)}, Fade: fade,
			})
		}
	}
	return &p
}

// lookIndex returns the index of the look for the present stop and colour.
func (w *Walker) lookIndex() int32 {
	if w.at < 0 {
		return 0
	}
	return int32(1 + w.at*len(colours) + w.colour)
}

// describe says what is lit.
func (w *Walker) describe() string {
	if w.at < 0 {
		return "dark; house lights stay"
	}
	s := &w.stops[w.at]
	text := fmt.Sprintf("%s (%s): %s", s.name, s.where, colours[w.colour].name)
	if w.at < w.fixtures {
		text = fmt.Sprintf("%d of %d: %s", w.at+1, w.fixtures, text)
	}
	if !s.lit {
		text += "; it gives no light and stays off"
	}
	return text
}

// moveBy moves by some stops among those from low up to high, without leaving them.
func (w *Walker) moveBy(by, low, high int) {
	switch {
	case high == low:
		return
	case w.at < low || w.at >= high:
		w.at = low
		if by < 0 {
			w.at = high - 1
		}
	default:
		w.at = low + (w.at-low+by+high-low)%(high-low)
	}
	w.colour = 0
}

// unknown is the error of a name that is no fixture or group, with those that are.
func (w *Walker) unknown(name string) error {
	names := make([]string, len(w.stops))
	for i := range w.stops {
		names[i] = w.stops[i].name
	}
	near := ""
	if n := language.Nearest(name, names); n != "" {
		near = fmt.Sprintf(" (did you mean %q?)", n)
	}
	return fmt.Errorf("no fixture or group %q%s; %s", name, near, language.Listed("they are", language.Ranges(names)))
}

// goTo goes to a fixture or group by its name, in any case.
func (w *Walker) goTo(name string) error {
	i := slices.IndexFunc(w.stops, func(s stop) bool { return s.name == name })
	if i < 0 {
		i = slices.IndexFunc(w.stops, func(s stop) bool { return strings.EqualFold(s.name, name) })
	}
	if i < 0 {
		return w.unknown(name)
	}
	w.at, w.colour = i, 0
	return nil
}

// runWord carries out one typed line.
func (w *Walker) runWord(word, rest string) error {
	groups := len(w.stops) - 1
	switch word {
	case "", "next", "n":
		w.moveBy(1, 0, w.fixtures)
	case "back", "b":
		w.moveBy(-1, 0, w.fixtures)
	case "group", "g":
		if rest != "" {
			return w.goTo(rest)
		}
		w.moveBy(1, w.fixtures, groups)
	case "all", "a":
		w.at, w.colour = groups, 0
	case "colour", "c":
		return w.setColour(rest)
	case "find", "f":
		return w.goTo(rest)
	case "dark", "d":
		w.at = -1
	default:
		return fmt.Errorf("no word %q; words are: next, back, find, group, all, colour, dark, wrong, quit, help", word)
	}
	return nil
}

// setColour goes to a colour by name, or to the next one.
func (w *Walker) setColour(name string) error {
	if name == "" {
		w.colour = (w.colour + 1) % len(colours)
		return nil
	}
	for i, c := range colours {
		if c.name == name {
			w.colour = i
			return nil
		}
	}
	return fmt.Errorf("no colour %q; white, red, green or blue", name)
}
