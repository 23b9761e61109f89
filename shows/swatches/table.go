package swatches

import (
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
)

// Table has the colours of a show as each of its fixture types mixes them.
type Table struct {
	Kinds   []Kind   // in the order of the rig; none where nothing mixes colours
	Colours []Colour // each once
	title   string
}

// Kind is a type of fixture.
type Kind struct {
	Name  string  // of its profile
	Heads []int32 // indexes of Program.Heads
	mixer *fixtures.Mixer
}

// Colour is a colour asked for.
type Colour struct {
	Name   string // such as "red" or "house main"
	RGB    fixtures.RGB
	Bright bool // each type shows it as bright as it can, in so far as it is deep
}

// New makes the table of a show: white, the pure colours, and the palettes in the
// order of the show, each colour once; twice if it is bright in one and matched in another.
func New(show *shows.Show) *Table {
	t := &Table{title: show.Venue}
	if show.Program.Name != show.Venue {
		t.title = show.Program.Name + ", " + show.Venue
	}
	t.Kinds = Kinds(show.Program)
	known := map[string]bool{}
	add := func(name string, rgb fixtures.RGB, bright bool) {
		if key := fmt.Sprint(rgb.Hex(), bright); !known[key] {
			known[key] = true
			t.Colours = append(t.Colours, Colour{name, rgb, bright})
		}
	}
	for _, name := range []string{"white", "red", "orange", "yellow", "lime", "cyan", "blue", "magenta"} {
		rgb, _ := fixtures.ColourByName(name)
		add(name, rgb, false)
	}
	palette := func(where string, p engine.Palette, deep engine.DeepColours) {
		for r, role := range []string{"main", "second", "accent", "warm"} {
			add(where+" "+role, p[r], deep.Roles[r])
		}
	}
	palette("house", show.Program.HousePalette, show.Program.HouseDeep)
	for i := range show.Program.Songs {
		song := &show.Program.Songs[i]
		palette(song.Name, song.Palette, song.Deep)
	}
	return t
}

// Kinds returns the fixture types of a program that mix colours, in the order of the rig.
func Kinds(p *engine.Program) (kinds []Kind) {
	for h, head := range p.Heads {
		m, name := p.Patch.Mixer(h), p.Patch.Placements()[head.Fixture].Profile.Name
		if m == nil {
			continue
		}
		i := slices.IndexFunc(kinds, func(k Kind) bool { return k.Name == name })
		if i < 0 {
			i, kinds = len(kinds), append(kinds, Kind{Name: name, mixer: m})
		}
		kinds[i].Heads = append(kinds[i].Heads, int32(h))
	}
	return kinds
}

// Gain is how many times as bright as matched a type shows a colour, at least 1.
func (k *Kind) Gain(c Colour) float64 {
	if !c.Bright {
		return 1
	}
	return k.mixer.DeepGain(c.RGB)
}

// Match is how a type shows a colour: looked up as when the show runs, and rounded to
// the 8 bits that most fixtures have. The difference is that from the colour times Gain.
func (k *Kind) Match(asked Colour) (shown fixtures.RGB, levels fixtures.Levels, deltaE float64) {
	c := asked.RGB.Scaled(k.Gain(asked))
	k.mixer.Mix(c, &levels)
	for i := range levels {
		levels[i] = math.Round(levels[i]*255) / 255
	}
	shown = k.mixer.Light(&levels)
	white := fixtures.D65()
	return shown, levels, c.XYZ().Lab(white).DeltaE(shown.XYZ().Lab(white))
}

// Print prints a row for each colour on each type: the colour in sRGB, its distance
// ΔE00 (CIEDE2000), the levels of the emitters, and how many times as bright as matched a
// bright deep colour is. Errors are those of out.
func (t *Table) Print(out io.Writer) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for i := range t.Kinds {
		k := &t.Kinds[i]
		fmt.Fprintf(w, "%s\tsRGB\tΔE00\tlevels\n", k.Name)
		for _, c := range t.Colours {
			_, levels, deltaE := k.Match(c)
			fmt.Fprintf(w, "  %s\t%s\t%.2f\t", c.Name, c.RGB.Hex(), deltaE)
			for j, e := range k.mixer.Emitters() {
				fmt.Fprintf(w, "%s %.0f %%  ", e.Param, levels[j]*100)
			}
			if gain := k.Gain(c); gain > 1 {
				fmt.Fprintf(w, "%.1f times as bright as matched  ", gain)
			}
			if f := k.mixer.Fit(c.RGB); f.ChromaLost > 0.001 {
				fmt.Fprintf(w, "gives up %.0f %% of the chroma", 100*f.ChromaLost/math.Max(1e-9, c.RGB.OKLab().OKLCh().C))
			}
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "  white alone could be %.1f times as bright\n\t\t\t\n", k.mixer.WhiteHeadroom())
	}
	return w.Flush()
}
