package draw

import (
	"strconv"

	"tactus/engine"
)

// drawSmall writes as much text as fits into a window that is too small for the
// stage.
func (d *Drawing) drawSmall(s *engine.Snapshot) {
	c := &d.canvas
	y := 0
	if d.text = appendAlarm(d.text[:0], s); len(d.text) > 0 {
		c.text(0, y, c.w, d.text, onWarning, bold|reverse)
		y++
	}
	d.text = appendTitle(d.text[:0], d.prog, s, 1<<20)
	y = d.wrap(y, d.text)
	d.text = appendState(d.text[:0], d.prog, s)
	y = d.wrap(y, d.text)
	for i := range d.groups {
		d.text = d.groups[i].appendTo(d.text[:0], s.Heads)
		y = d.wrap(y, d.text)
	}
	if s.Health.BarOffset.Ticks != 0 {
		y = d.wrap(y, appendClock(d.text[:0], s))
	}
	d.text = strconv.AppendInt(append(d.text[:0], "the stage is drawn from "...), MinWidth, 10)
	d.text = strconv.AppendInt(append(d.text, 'x'), MinHeight, 10)
	d.wrap(y, append(d.text, " on"...))
}

// wrap writes text from row y on, over several rows if needed, and returns the next
// row.
func (d *Drawing) wrap(y int, text []byte) int {
	for len(text) > 0 && y < d.canvas.h {
		n := fittingBytes(text, d.canvas.w)
		d.canvas.text(0, y, d.canvas.w, text[:n], unset, 0)
		text = text[n:]
		y++
	}
	return y
}
