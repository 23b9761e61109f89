package plot

import (
	"cmp"

	"tactus/shows/plan"
	"tactus/shows/sheet"
)

// legend returns a line for each finding, as many as there is room for.
func (d *score) legend() []string {
	const most = 9
	var out []string
	for i := range d.findings {
		f := &d.findings[i]
		if i == most-1 && len(d.findings) > most {
			out = append(out, itoa(len(d.findings)-i)+" more: tactus check lists them all")
			break
		}
		kind := f.Severity.String()
		if f.Kind == plan.Flashing {
			kind = "flashing"
		}
		out = append(out, kind+", "+inWords(f))
	}
	return out
}

// inWords gives a finding with its place and what to do about it.
func inWords(f *plan.Finding) string {
	text := cmp.Or(f.Place, "the song") + ": " + f.Reason
	if f.Suggestion != "" {
		text += "; " + f.Suggestion
	}
	return text
}

// drawPins puts the numbers of the findings below the score at their places. Those that
// would overlap are moved to the right.
func (d *score) drawPins(y, top float64) {
	const r = 1.9
	last := d.time.x - 2*r
	for i := range d.findings {
		x := d.time.at(d.timeOf(&d.findings[i]))
		at := max(x, last+float64(2.1*r))
		if at > d.Paper.W-edge-r {
			break // the list has them
		}
		d.Line(x, y-4, at, y-r, 0.2, sheet.Black)
		d.Dashed(x, top, x, y-4, 0.25, 0.9, sheet.Black)
		d.drawPin(at, y, r, i+1, &d.findings[i])
		last = at
	}
}

// drawPin draws the number of a finding: an error on black, others on white; flashing in
// a square, others in a circle.
func (d *score) drawPin(x, y, r float64, number int, f *plan.Finding) {
	fill, ink := sheet.White, sheet.Black
	if f.Severity == plan.Error {
		fill, ink = sheet.Black, sheet.White
	}
	if f.Kind == plan.Flashing {
		d.Rect(x-r, y-r, 2*r, 2*r, sheet.Black)
		d.Rect(x-r+0.3, y-r+0.3, float64(2*r)-0.6, float64(2*r)-0.6, fill)
	} else {
		d.Disc(x, y, r, fill, sheet.Black, 0.3)
	}
	d.Bold(x, y+0.85, 2.3, sheet.Middle, ink, itoa(number))
}

// list explains the numbers.
func (d *score) list(lines []string, y float64) {
	if len(lines) == 0 {
		d.Words(d.time.x, y+listSize, listSize, sheet.Start, sheet.Dim, "Nothing found that needs a look.")
		return
	}
	for i, l := range lines {
		line := y + float64(listLine*float64(i)) + listSize
		if i < len(d.findings) && l[0] > '9' {
			d.drawPin(edge+2, line-0.9, 1.7, i+1, &d.findings[i])
		}
		d.Words(edge+6, line, listSize, sheet.Start, sheet.Black, d.Fits(l, listSize, d.Paper.W-2*edge-6, false))
	}
}
