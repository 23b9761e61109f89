package plot

import "tactus/shows/sheet"

// label is a line of a block of words on a stage plan.
type label struct {
	text string
	size float64 // millimetres
	bold bool
}

// box is a part of a sheet in millimetres.
type box struct{ left, top, right, bottom float64 }

func (b box) overlaps(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom
}

// boxOfLabel returns the box that a line of words fills.
func (d *ground) boxOfLabel(x, y float64, at sheet.Side, l label) box {
	wide := d.Width(l.text, l.size, l.bold)
	left := x - float64(wide*[...]float64{sheet.Start: 0, sheet.Middle: 0.5, sheet.End: 1}[at])
	return box{left - 0.4, y - float64(0.85*l.size), left + wide + 0.4, y + float64(0.3*l.size)}
}

// writeLabel writes words on a white ground, over the grid, and keeps other labels away.
func (d *ground) writeLabel(x, y, size float64, at sheet.Side, bold bool, text string) {
	b := d.boxOfLabel(x, y, at, label{text, size, bold})
	d.taken = append(d.taken, b)
	d.Rect(b.left, b.top, b.right-b.left, b.bottom-b.top, sheet.White)
	d.Write(sheet.Words{X: x, Y: y, Size: size, Side: at, Bold: bold, Ink: sheet.Black, Text: text})
}

// direction is where a block of labels stands beside a symbol.
type direction uint8

const (
	below direction = iota
	above
	rightOf
	leftOf
)

// writeBeside writes a block of labels beside a symbol: on the first side where it overlaps
// nothing and stays on the plan. It returns false if no side has room.
func (d *ground) writeBeside(x, y, r float64, lines []label, sides ...direction) bool {
	high := 0.0
	for _, l := range lines {
		high += float64(1.17 * l.size)
	}
	for _, side := range sides {
		at, left, top := sheet.Middle, x, y+r+0.6
		switch side {
		case above:
			top = y - r - 0.6 - high
		case rightOf:
			at, left, top = sheet.Start, x+r+1.2, y-high/2
		case leftOf:
			at, left, top = sheet.End, x-r-1.2, y-high/2
		}
		if d.writeBlock(left, top, at, lines) {
			return true
		}
	}
	return false
}

// writeBlock writes labels below one another, if all of them have room.
func (d *ground) writeBlock(x, top float64, at sheet.Side, lines []label) bool {
	baselines := make([]float64, len(lines))
	y := top
	for i, l := range lines {
		baselines[i] = y + float64(0.85*l.size)
		y += float64(1.17 * l.size)
		b := d.boxOfLabel(x, baselines[i], at, l)
		if l.text == "" || b.left < d.x || b.right > d.x+d.wide || b.top < d.y || b.bottom > d.y+d.tall {
			return false
		}
		for _, o := range d.taken {
			if b.overlaps(o) {
				return false
			}
		}
	}
	for i, l := range lines {
		d.writeLabel(x, baselines[i], l.size, at, l.bold, l.text)
	}
	return true
}
