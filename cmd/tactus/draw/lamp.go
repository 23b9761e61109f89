package draw

import (
	"strconv"

	"tactus/engine"
	"tactus/fixtures"
)

// lamp is a head on the drawn stage. Sizes are in cells.
type lamp struct {
	head   int32
	x, y   int // top left cell, from the stage's top left
	w, h   int
	label  string
	hung   bool // shines down; else it stands on the floor and shines up
	post   bool // part of an upright, which its light spreads along
	output output
}

// drawStage draws the light, the bars, the lamps and their names.
func (d *Drawing) drawStage(s *engine.Snapshot) {
	c, top := &d.canvas, d.rows.stage
	if d.colour {
		d.glow.addLamps(d.lamps, s.Heads, d.haze(s.Heads))
		d.glow.paint(c, top, d.codes)
	}
	for _, b := range d.bars {
		for i := range b.length {
			if b.upright {
				d.setRune(b.x, top+b.y+i, '│', grey(70))
			} else {
				d.setRune(b.x+i, top+b.y, '─', grey(70))
			}
		}
	}
	for i := range d.lamps {
		d.drawLamp(&d.lamps[i], top, &s.Heads[d.lamps[i].head])
	}
}

// setRune writes a rune on the stage and keeps the background.
func (d *Drawing) setRune(x, y int, r rune, fg colour) {
	if x < 0 || x >= d.canvas.w {
		return
	}
	p := d.canvas.at(x, y)
	p.r, p.fg = r, fg
}

// body is the level of linear light of an unlit lamp.
const body = 0.012

func (d *Drawing) drawLamp(l *lamp, top int, s *fixtures.State) {
	lit := l.output.light(s)
	code := d.codes.colour(light{lit[0] + body, lit[1] + body, lit[2] + body})
	shade := shadeOf(luminance(lit))
	for y := top + l.y; y < top+l.y+l.h; y++ {
		for x := l.x; x < min(l.x+l.w, d.canvas.w); x++ {
			p := d.canvas.at(x, y)
			if d.colour {
				*p = cell{r: ' ', fg: unset, bg: code}
			} else {
				*p = cell{r: shade, fg: unset, bg: unset}
			}
		}
	}
	if l.label == "" || l.y == 0 {
		return
	}
	d.text = append(d.text[:0], l.label...)
	if !d.colour && l.w >= 5 && columns(d.text) < 3 {
		d.text = append(d.text, ' ')
		d.text = strconv.AppendInt(d.text, percent(s[fixtures.Intensity]), 10)
	}
	x := l.x + l.w/2 - columns(d.text)/2
	d.canvas.text(max(0, x), top+l.y-1, d.canvas.w, d.text, grey(175), 0)
}

// shadeOf returns a character for a brightness, for screens without colours.
func shadeOf(l float32) rune {
	switch v := encode(float64(l)); {
	case v < 13:
		return '·'
	case v < 80:
		return '░'
	case v < 140:
		return '▒'
	case v < 200:
		return '▓'
	}
	return '█'
}

// haze returns the part of the beams that shows, 0.4..1. Beams show a little without
// haze, because of dust in the air.
func (d *Drawing) haze(heads []fixtures.State) float32 {
	most := 0.0
	for i := range d.groups {
		if !d.groups[i].haze {
			continue
		}
		for _, h := range d.groups[i].heads {
			most = max(most, heads[h][fixtures.Haze])
		}
	}
	return float32(0.4 + float64(0.6*min(1, most)))
}
