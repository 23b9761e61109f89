package plot

import "tactus/shows/sheet"

// legend returns the notes as numbered lines, as many as there is room for.
func (d *score) legend() []string {
	const most = 9
	var out []string
	for i := range d.song.Notes {
		n := &d.song.Notes[i]
		if i == most-1 && len(d.song.Notes) > most {
			out = append(out, itoa(len(d.song.Notes)-i)+" more: tactus check lists them all")
			break
		}
		text := n.Weight.String() + ", "
		if n.Flash {
			text = "flashing, "
		}
		out = append(out, text+n.Place+": "+n.Words)
	}
	return out
}

// pins puts the notes' numbers under the score, where they belong. Those that
// would lie on one another are moved along.
func (d *score) pins(y, top float64) {
	const r = 1.9
	last := d.time.x - 2*r
	for i := range d.song.Notes {
		n := &d.song.Notes[i]
		x := d.time.at(n.At)
		at := max(x, last+float64(2.1*r))
		if at > d.Paper.W-edge-r {
			break // the list has them
		}
		d.Line(x, y-4, at, y-r, 0.2, sheet.Black)
		d.Dashed(x, top, x, y-4, 0.25, 0.9, sheet.Black)
		d.pin(at, y, r, i+1, n)
		last = at
	}
}

// pin draws a note's number: a fault on black, the rest on white, and what
// flashes in a square.
func (d *score) pin(x, y, r float64, number int, n *Note) {
	fill, ink := sheet.White, sheet.Black
	if n.Weight == Fault {
		fill, ink = sheet.Black, sheet.White
	}
	if n.Flash {
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
		if i < len(d.song.Notes) && l[0] > '9' {
			d.pin(edge+2, line-0.9, 1.7, i+1, &d.song.Notes[i])
		}
		d.Words(edge+6, line, listSize, sheet.Start, sheet.Black, d.Fits(l, listSize, d.Paper.W-2*edge-6, false))
	}
}
