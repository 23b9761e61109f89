package waveform

import (
	"tactus/engine"
	"tactus/fixtures"
)

// Drawing is an effect as a view draws it. Values are at even distances over one period, the
// last of them just before its end.
type Drawing struct {
	Wave []float64 // the wave's value, 0..1
	// Light is what the wave makes of a level of Over in the look, 0..1; of a colour, how far
	// it is from the look's colour, or the effect's first, to its second.
	Light []float64
	Over  float64
	// Edge is where the light's outermost value lies, 0..1, with a depth of 0 and of 1. With
	// depths between it lies on the line between the two.
	Edge    [2]float64
	Colours []fixtures.RGB // of the moved colour, from the bottom of the wave to its top; nil: it moves none
	Heads   []Head         // in the order that the effect names them
	Steps   int            // of the path; 1: all heads move together
	Repeats bool           // all periods are alike
}

// Head is a head of an effect.
type Head struct {
	Head  int32   // index in Program.Heads
	Step  int     // its place on the path, from 0
	Delay float64 // how far it is behind the first, in repeats of the wave, 0..1
}

const (
	leastValues, mostValues = 256, 2048 // of a drawing
	valuesPerPulse          = 64
	colourValues            = 17
)

// Of returns the drawing of an effect's period with a number, from 0: noise differs from one
// to the next. song has the palette; engine.None stands for the show's own.
func Of(p *engine.Program, effect, song, period int32) *Drawing {
	e := &p.Effects[effect]
	n := min(mostValues, max(leastValues, valuesPerPulse*int(e.Pulses)))
	d := &Drawing{
		Wave: e.Values(period, n+1), Over: over(e), Steps: 1,
		Repeats: e.Wave.Kind != engine.Noise,
	}
	d.Edge = [2]float64{e.Blend.Apply(d.Over, edgeWave(e), 0), e.Blend.Apply(d.Over, edgeWave(e), 1)}
	for _, w := range d.Wave {
		d.Light = append(d.Light, e.Blend.Apply(d.Over, w, e.Depth))
	}
	if e.MovesColour {
		palette := &p.HousePalette
		if song != engine.None {
			palette = &p.Songs[song].Palette
		}
		var way fixtures.Arc
		way.Set(e.From.In(palette), e.To.In(palette))
		for i := range colourValues {
			d.Colours = append(d.Colours, way.ColourAt(float64(i)/(colourValues-1)))
		}
	}
	d.order(p, e)
	return d
}

// order fills in the path. Without a delay between them all heads move together, whatever
// the path.
func (d *Drawing) order(p *engine.Program, e *engine.Effect) {
	points := make([]engine.Point, len(e.Heads))
	for i, h := range e.Heads {
		points[i] = p.Heads[h].At
	}
	steps, count := e.Path.Steps(points, e.Wave.Seed)
	if e.Spread == 0 {
		clear(steps)
		count = 1
	}
	d.Steps, d.Heads = count, make([]Head, len(e.Heads))
	for i, h := range e.Heads {
		d.Heads[i] = Head{h, steps[i], e.Offsets[i].Unit()}
	}
}

// over is the level of the look over which an effect is drawn: where it is seen best.
func over(e *engine.Effect) float64 {
	switch e.Blend {
	case engine.Scale:
		return 1
	case engine.Swing:
		return 0.5
	}
	return 0
}

// edgeWave is the wave's value that goes furthest from the look with the depth.
func edgeWave(e *engine.Effect) float64 {
	if e.Blend == engine.Scale {
		return 0
	}
	return 1
}

// Period returns the length of an effect's period as a number of beats or bars.
func Period(l engine.Length) (count float64, unit string) {
	unit = "beats"
	if l.Bars {
		unit = "bars"
	}
	return float64(l.Num) / float64(max(1, l.Den)), unit
}

// Beats returns how many beats of a meter a period has.
func Beats(l engine.Length, m engine.Meter) float64 {
	return float64(l.In(m)) / float64(m.Beat())
}
