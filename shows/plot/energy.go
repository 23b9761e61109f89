package plot

import (
	"math"

	"tactus/shows/sheet"
)

// energy draws the staff of energy: declared as a solid step, measured as a
// dashed one over the light itself, which is thin. Each has its name at its end.
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
	said := level(y, high, last.Declared)
	if math.IsNaN(last.Measured) {
		d.Bold(x, said+0.9, 2.5, sheet.Start, sheet.Black, "declared")
		return
	}
	seen := level(y, high, last.Measured)
	if math.Abs(said-seen) < 3 { // apart, in their order
		if said <= seen {
			said, seen = (said+seen)/2-1.5, (said+seen)/2+1.5
		} else {
			said, seen = (said+seen)/2+1.5, (said+seen)/2-1.5
		}
	}
	d.Bold(x, said+0.9, 2.5, sheet.Start, sheet.Black, "declared")
	d.Words(x, seen+0.9, 2.5, sheet.Start, sheet.Black, "measured")
}

// level returns the height of an energy on a staff.
func level(y, high, energy float64) float64 {
	return y + high - float64(high*min(10, max(0, energy))/10)
}

// curves draws both energies. weight thins them for small staves.
func (d *score) curves(y, high float64, t scale, weight float64) {
	for _, v := range []float64{0, 2.5, 5, 7.5, 10} {
		d.Line(t.x, level(y, high, v), t.x+t.wide, level(y, high, v), 0.1, sheet.Fine)
	}
	d.strength(y, high, t)
	was := math.NaN()
	for i := range d.song.Sections {
		s := &d.song.Sections[i]
		x, to := t.at(s.From), t.at(s.To)
		if !math.IsNaN(s.Measured) {
			seen := level(y, high, s.Measured)
			d.Dashed(x, seen, to, seen, 0.55*weight, 1.6*weight, sheet.Black)
			if !math.IsNaN(was) {
				d.Dashed(x, was, x, seen, 0.3*weight, 0.8*weight, sheet.Black)
			}
			was = seen
		}
	}
	was = math.NaN()
	for i := range d.song.Sections {
		s := &d.song.Sections[i]
		x, to, said := t.at(s.From), t.at(s.To), level(y, high, s.Declared)
		d.Line(x, said, to, said, 0.9*weight, sheet.Strong)
		if !math.IsNaN(was) {
			d.Line(x, min(was, said)-0.45*weight, x, max(was, said)+0.45*weight, 0.9*weight, sheet.Strong)
		}
		was = said
	}
}

// strength fills what lies under the brightness, column by column.
func (d *score) strength(y, high float64, t scale) {
	n := d.song.columns()
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
	for i, v := range d.song.Light {
		x := t.x + float64(t.wide*float64(i)/float64(n))
		to := t.x + float64(t.wide*float64(i+1)/float64(n))
		h := level(y, high, v)
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
