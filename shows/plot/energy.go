package plot

import (
	"math"

	"tactus/shows/sheet"
)

// energy draws the staff of energy: the declared energy as a solid line in steps,
// the strength of the light as a dashed one, over the brightness in grey. Each line
// has its name at its end.
func (d *score) energy(y, high float64) {
	d.curves(y, high, d.time, 1)
	for _, v := range []int{0, 5, 10} {
		d.Words(d.time.x-1.5, level(y, high, float64(v))+0.8, 2.2, sheet.End, sheet.Dim, itoa(v))
	}
	d.Bold(d.time.x-7, y+high/2+0.9, 2.7, sheet.End, sheet.Black, "energy")
	n := len(d.song.Sections)
	if n == 0 {
		return
	}
	last := &d.song.Sections[n-1]
	x := d.time.x + d.time.wide + 2
	declared, strength := level(y, high, float64(last.Energy)), level(y, high, last.Strength)
	if d.song.Frames > 0 {
		if middle := (declared + strength) / 2; math.Abs(declared-strength) < 3 { // apart, in their order
			apart := math.Copysign(1.5, strength-declared)
			declared, strength = middle-apart, middle+apart
		}
		d.Words(x, strength+0.9, 2.5, sheet.Start, sheet.Black, "strength")
	}
	d.Bold(x, declared+0.9, 2.5, sheet.Start, sheet.Black, "energy")
}

// level returns the place of an energy, 0..10, on a staff.
func level(y, high, energy float64) float64 {
	return y + high - float64(high*min(10, max(0, energy))/10)
}

// curves draws both lines over the brightness; weight makes them thinner, 0..1.
func (d *score) curves(y, high float64, t scale, weight float64) {
	for _, v := range []float64{0, 2.5, 5, 7.5, 10} {
		d.Line(t.x, level(y, high, v), t.x+t.wide, level(y, high, v), 0.1, sheet.Fine)
	}
	d.brightness(y, high, t)
	was := 0.0
	for i := range d.song.Sections {
		s := &d.song.Sections[i]
		x, to := t.at(s.From), t.at(s.To)
		if d.song.Frames == 0 {
			break
		}
		strength := level(y, high, s.Strength)
		d.Dashed(x, strength, to, strength, 0.55*weight, 1.6*weight, sheet.Black)
		if i > 0 {
			d.Dashed(x, was, x, strength, 0.3*weight, 0.8*weight, sheet.Black)
		}
		was = strength
	}
	for i := range d.song.Sections {
		s := &d.song.Sections[i]
		x, to, declared := t.at(s.From), t.at(s.To), level(y, high, float64(s.Energy))
		d.Line(x, declared, to, declared, 0.9*weight, sheet.Strong)
		if i > 0 {
			d.Line(x, min(was, declared)-0.45*weight, x, max(was, declared)+0.45*weight, 0.9*weight, sheet.Strong)
		}
		was = declared
	}
}

// brightness fills the staff in grey up to the stage's brightness, column by column.
func (d *score) brightness(y, high float64, t scale) {
	n := len(d.columns)
	if n == 0 {
		return
	}
	at := [][2]float64{}
	ground := y + high
	flush := func() {
		if len(at) > 1 {
			at = append(at, [2]float64{at[len(at)-1][0], ground}, [2]float64{at[0][0], ground})
			d.Poly(0xcccccc, at...)
			// The next piece begins a bit before, so that no seam shows.
			at = [][2]float64{{at[len(at)-3][0] - 0.2, at[len(at)-3][1]}}
		}
	}
	for i, c := range d.columns {
		x := t.x + float64(t.wide*float64(i)/float64(n))
		to := t.x + float64(t.wide*float64(i+1)/float64(n))
		h := level(y, high, c.Brightness/10)
		if m := len(at); m == 0 || at[m-1][1] != h {
			at = append(at, [2]float64{x, h})
		}
		at = append(at, [2]float64{to, h})
		if to-at[0][0] > 15 { // pieces, for the rasteriser
			flush()
		}
	}
	flush()
}
