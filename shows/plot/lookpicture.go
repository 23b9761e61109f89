package plot

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/sheet"
)

// Picture sizes, in millimetres.
const (
	pictureWide, pictureHigh = 48.0, 30.0
	pictureEdge              = 3.0
)

// LookPicture is what LookLight draws: a look with effects over it, in a song's colours.
type LookPicture struct {
	Look    int32   // index of Program.Looks
	Effects []int32 // indexes of Program.Effects; nil: those of the look
	Song    int32   // index of Program.Songs; engine.None: the show's own colours
}

// LookLight draws a look on the rig, from above and small: a disc for each place with a
// head that gives light, in the colour and brightness of the brightest head there.
// Effects stand as at the start of their third bar. The house lights are left out.
func LookLight(s *shows.Show, what LookPicture) *sheet.Sheet {
	p := s.Program
	title := p.Looks[what.Look].Name
	about := "The look " + title
	if names := effectNames(p, what.effects(p)); names != "" {
		about += " with " + names
	}
	if what.Song != engine.None {
		about += ", in the colours of " + p.Songs[what.Song].Name
	}
	d := lookDrawing{Sheet: sheet.New(sheet.Paper{Name: "look", W: pictureWide, H: pictureHigh}, title, about+".")}
	d.Rect(0, 0, pictureWide, pictureHigh, 0x101014)
	heads, states := flash.Heads(p.Patch), what.States(p)
	for h := range heads {
		if at := p.Heads[h].At; heads[h].Flux > 0 && !p.Heads[h].House && hasPlace(at) {
			d.add(at, heads[h].Light(&states[h]))
		}
	}
	d.draw()
	return d.Sheet
}

func effectNames(p *engine.Program, effects []int32) string {
	var names []string
	for _, i := range effects {
		names = append(names, p.Effects[i].Name)
	}
	return strings.Join(names, ", ")
}

// effects returns the effects that are over the look.
func (w *LookPicture) effects(p *engine.Program) []int32 {
	if w.Effects == nil {
		return p.Looks[w.Look].Effects
	}
	return w.Effects
}

// States returns the state of each head: the engine's frame with the look as the walk-in
// look of a program that has the song's colours.
func (w *LookPicture) States(p *engine.Program) []fixtures.State {
	cue := p.Looks[w.Look]
	cue.Effects = w.effects(p)
	e := engine.New(p.Alone(cue, w.Song))
	const bars = 8 * clock.Quarter // two bars of 4/4
	pos := clock.Position{At: 4 * clock.Second, Tempo: clock.BPM(120), Beat: bars, Pulse: bars, Playing: true}
	e.Frame(pos)
	return slices.Clone(e.SentLight())
}

// lookDrawing is the picture of a look while it is drawn.
type lookDrawing struct {
	*sheet.Sheet
	spots []litSpot
}

// litSpot is a place on the stage with the brightest light of the heads there.
type litSpot struct {
	at    engine.Point
	light fixtures.RGB
}

// add adds a head's light at its place. Heads that hang over one another share a spot.
func (d *lookDrawing) add(at engine.Point, light fixtures.RGB) {
	i := slices.IndexFunc(d.spots, func(o litSpot) bool { return math.Abs(o.at.X-at.X) < 0.05 && math.Abs(o.at.Y-at.Y) < 0.05 })
	switch {
	case i < 0:
		d.spots = append(d.spots, litSpot{at, light})
	case flash.Luminance(light) > flash.Luminance(d.spots[i].light):
		d.spots[i].light = light
	}
}

// draw draws the spots at the scale that fits them, with a line at the front of the stage.
func (d *lookDrawing) draw() {
	low, high := engine.Point{X: -1}, engine.Point{X: 1, Y: 1}
	for _, o := range d.spots {
		low.X, high.X = min(low.X, o.at.X), max(high.X, o.at.X)
		low.Y, high.Y = min(low.Y, o.at.Y), max(high.Y, o.at.Y)
	}
	scale := min((pictureWide-2*pictureEdge)/(high.X-low.X), (pictureHigh-2*pictureEdge)/(high.Y-low.Y))
	left, top := (pictureWide-float64(scale*(high.X-low.X)))/2, (pictureHigh-float64(scale*(high.Y-low.Y)))/2
	point := func(p engine.Point) (x, y float64) {
		return left + float64(scale*(p.X-low.X)), top + float64(scale*(high.Y-p.Y))
	}
	_, front := point(engine.Point{})
	d.Line(pictureEdge/2, front, pictureWide-pictureEdge/2, front, 0.2, 0x3a3a42)
	r := d.radius(scale)
	for _, o := range d.spots {
		x, y := point(o.at)
		level := min(1, fixtures.Lightness(flash.Luminance(o.light))/100)
		d.Disc(x, y, r, shade(o.light, level), 0x55555f, 0.15)
	}
}

// radius returns the radius of the discs: they do not overlap much.
func (d *lookDrawing) radius(scale float64) float64 {
	near := math.Inf(1)
	for i, o := range d.spots {
		for _, p := range d.spots[:i] {
			near = min(near, math.Hypot(o.at.X-p.at.X, o.at.Y-p.at.Y))
		}
	}
	return max(0.5, min(2.2, float64(near*scale)*0.48))
}

// shade returns the ink of a light: its colour at full, as dark as its level, 0..1, says.
func shade(light fixtures.RGB, level float64) sheet.Ink {
	full := sheet.InkOf(light)
	part := func(shift uint) sheet.Ink {
		return sheet.Ink(math.Round(float64(full>>shift&0xff)*level)) << shift
	}
	return part(16) | part(8) | part(0)
}

// PictureEffects finds effects by name for a LookPicture. The error names the first that
// the show does not have.
func PictureEffects(p *engine.Program, names []string) ([]int32, error) {
	list := []int32{}
	for _, name := range names {
		i := slices.IndexFunc(p.Effects, func(e engine.Effect) bool { return e.Name == name })
		if i < 0 {
			return nil, fmt.Errorf("the show has no effect %.60q", name)
		}
		list = append(list, int32(i))
	}
	return list, nil
}
