package draw

import (
	"tactus/engine"
)

// Drawing draws one show on a terminal of one size; another size or show needs
// another Drawing. Only one goroutine may use it.
type Drawing struct {
	prog    *engine.Program
	canvas  canvas
	colour  bool
	groups  []headGroup
	printed plainState
	fresh   bool // the first frame clears the screen
	text    []byte
	codes   *encoder

	rows  layout
	lamps []lamp
	bars  []bar
	glow  *glow
}

// layout has the first row of each part of the screen, and the number of rows of the
// stage and the energy.
type layout struct {
	stage, stageRows   int
	apart, words       int
	marks              int
	energy, energyRows int
	names              int
	clock              int // 0: in the same row as health
	health             int
}

// New prepares to draw a show on a terminal of width by height cells, in true colour
// or without colours. Below MinWidth by MinHeight, Frame draws text only.
func New(p *engine.Program, width, height int, colour bool) *Drawing {
	d := &Drawing{
		prog: p, canvas: newCanvas(max(1, width), max(1, height), !colour), colour: colour,
		groups: headGroups(p), fresh: true, codes: newEncoder(),
	}
	if d.isTooSmall() {
		return d
	}
	d.rows = layoutFor(height)
	d.lamps, d.bars = place(p, d.groups, width, d.rows.stageRows)
	d.glow = newGlow(width, d.rows.stageRows, d.lamps)
	return d
}

func (d *Drawing) isTooSmall() bool { return d.canvas.w < MinWidth || d.canvas.h < MinHeight }

// layoutFor divides h rows among the parts; the stage gets the rows that are left.
func layoutFor(h int) layout {
	l := layout{stage: 2, energyRows: min(6, max(2, h/8))}
	l.health = h - 1
	l.names = h - 2
	if h >= 22 {
		l.names--
		l.clock = h - 2
	}
	l.energy = l.names - l.energyRows
	l.marks = l.energy - 1
	l.words = l.marks - 1
	if h >= 28 {
		l.words--
	}
	l.apart = l.words - 1
	l.stageRows = l.apart - l.stage
	return l
}

// Frame appends a whole screen, to be written in one call. The snapshot must be of
// the show that New got.
func (d *Drawing) Frame(dst []byte, s *engine.Snapshot) []byte {
	c := &d.canvas
	c.clear()
	if d.isTooSmall() {
		d.drawSmall(s)
	} else {
		d.drawHead(s)
		d.drawStage(s)
		d.drawAlarm(s)
		d.drawGroups(d.rows.apart, true, s)
		d.drawGroups(d.rows.words, false, s)
		d.drawRibbon(s)
		d.drawHealth(s)
	}
	dst = append(dst, begin...)
	if d.fresh {
		dst = append(dst, "\x1b[0m\x1b[2J"...)
		d.fresh = false
	}
	dst = c.appendTo(dst)
	return append(dst, end...)
}

// tone is the brightness of text.
type tone uint8

const (
	strong tone = iota
	quiet
	faint
)

func (d *Drawing) tone(t tone) colour {
	if t == strong {
		return unset
	}
	return [...]colour{quiet: grey(170), faint: grey(125)}[t]
}

// Colours of alarms.
const (
	warning   colour = 0xB3261E
	onWarning colour = 0xFFFFFF
)

// drawHead writes the two title lines.
func (d *Drawing) drawHead(s *engine.Snapshot) {
	c := &d.canvas
	d.text = appendTitle(d.text[:0], d.prog, s, c.w-2)
	c.text(1, 0, c.w-1, d.text, unset, bold)
	x := d.drawBeats(1, s)
	d.text = appendState(d.text[:0], d.prog, s)
	x = c.text(x, 1, c.w-1, d.text, unset, 0)
	for _, full := range [...]bool{true, false} {
		d.text = appendPlace(d.text[:0], d.prog, s, full)
		if n := columns(d.text); x+3+n < c.w {
			c.text(c.w-1-n, 1, c.w-1, d.text, d.tone(quiet), 0)
			return
		}
	}
}

// drawAlarm writes alarms in the middle of the row above the groups, in reverse
// video without colours.
func (d *Drawing) drawAlarm(s *engine.Snapshot) {
	d.text = appendAlarm(append(d.text[:0], ' '), s)
	if len(d.text) == 1 {
		return
	}
	d.text = append(d.text, ' ')
	c, y := &d.canvas, d.rows.apart-1
	from := max(0, (c.w-columns(d.text))/2)
	to := c.text(from, y, c.w, d.text, onWarning, bold)
	for x := from; x < to; x++ {
		p := c.at(x, y)
		p.bg = warning
		if !d.colour {
			p.style |= reverse
		}
	}
}

// drawHealth writes the state of the clock and the counts of the output loop: two
// rows, or one in a low window.
func (d *Drawing) drawHealth(s *engine.Snapshot) {
	c := &d.canvas
	if y := d.rows.clock; y > 0 {
		d.text = appendClock(d.text[:0], s)
		shade := faint
		if s.Health.BarOffset.Ticks != 0 {
			shade = strong
		}
		c.text(1, y, c.w-1, d.text, d.tone(shade), 0)
	}
	d.text = appendHealth(d.text[:0], s, d.rows.clock == 0)
	c.text(1, d.rows.health, c.w-1, d.text, d.tone(faint), 0)
}

// drawBeats draws a dot for each beat of the bar, the present one filled, and
// returns the next free column. It draws nothing for a bar of more than 12 beats.
func (d *Drawing) drawBeats(x int, s *engine.Snapshot) int {
	song := songOf(d.prog, s)
	if song == nil {
		return x
	}
	_, beat, beats := barBeat(song, s.Status.Beat)
	if beats > 12 {
		return x
	}
	for i := range beats {
		if i+1 == beat {
			d.canvas.setCell(x, 1, '●', unset)
			d.canvas.at(x, 1).style = bold
		} else {
			d.canvas.setCell(x, 1, '○', d.tone(faint))
		}
		x += 2
	}
	return x + 1
}
