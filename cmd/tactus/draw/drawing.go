package draw

import (
	"strconv"

	"tactus/engine"
	"tactus/fixtures"
)

// Drawing draws one show on a terminal of one size. Make a new one when the
// window's size or the show changes. It belongs to one goroutine.
type Drawing struct {
	prog   *engine.Program
	canvas canvas
	colour bool
	voices []voice
	said   said
	fresh  bool // the first frame clears the screen
	text   []byte
	codes  *encoder

	lay   layout
	lamps []lamp
	bars  []bar
	glow  *glow
}

// layout says which row starts what, and how many rows it has.
type layout struct {
	stage, stageRows   int
	apart, words       int
	marks              int
	energy, energyRows int
	names, health      int
}

// New prepares to draw a show on a terminal of width by height cells, in true
// colour or none. Below MinWidth by MinHeight Frame draws text only.
func New(p *engine.Program, width, height int, colour bool) *Drawing {
	d := &Drawing{
		prog: p, canvas: newCanvas(max(1, width), max(1, height), !colour), colour: colour,
		voices: voices(p), fresh: true, codes: newEncoder(),
	}
	if d.small() {
		return d
	}
	d.lay = layoutFor(height)
	d.lamps, d.bars = place(p, d.voices, width, d.lay.stageRows)
	d.glow = newGlow(width, d.lay.stageRows, d.lamps)
	return d
}

func (d *Drawing) small() bool { return d.canvas.w < MinWidth || d.canvas.h < MinHeight }

// layoutFor shares out the rows: what is not spoken for is stage.
func layoutFor(h int) layout {
	l := layout{stage: 2, energyRows: min(6, max(2, h/8))}
	l.health = h - 1
	l.names = h - 2
	if h >= 22 {
		l.names--
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

// Frame appends a whole screen, ready to be written at once. The snapshot must
// be of the show that the drawing was made for.
func (d *Drawing) Frame(dst []byte, s *engine.Snapshot) []byte {
	c := &d.canvas
	c.clear()
	if d.small() {
		d.drawSmall(s)
	} else {
		d.drawHead(s)
		d.drawStage(s)
		d.drawAlarm(s)
		d.drawApart(s)
		d.drawWords(s)
		d.drawRibbon(s)
		d.text = appendHealth(d.text[:0], s)
		c.text(1, d.lay.health, c.w-1, d.text, d.tone(faint), 0)
	}
	dst = append(dst, begin...)
	if d.fresh {
		dst = append(dst, "\x1b[0m\x1b[2J"...)
		d.fresh = false
	}
	dst = c.appendTo(dst)
	return append(dst, end...)
}

// tone is a part's brightness of text.
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

// warning is what alarms are written on.
const (
	warning   colour = 0xB3261E
	onWarning colour = 0xFFFFFF
)

// drawHead writes the two lines on top.
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

// drawAlarm writes in the middle of the stage's floor what everybody should
// see, set apart by reverse as well as colour.
func (d *Drawing) drawAlarm(s *engine.Snapshot) {
	d.text = appendAlarm(append(d.text[:0], ' '), s)
	if len(d.text) == 1 {
		return
	}
	d.text = append(d.text, ' ')
	c, y := &d.canvas, d.lay.apart-1
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

// drawBeats counts the bar's beats: the present one is filled.
func (d *Drawing) drawBeats(x int, s *engine.Snapshot) int {
	song := songOf(d.prog, s)
	if song == nil || song.Meter.Beats() > 12 {
		return x
	}
	at := s.Status.Beat
	if i := s.Status.Section; i != engine.None {
		at -= song.Sections[i].Start
	}
	_, beat := barBeat(song.Meter, at)
	for i := range int64(song.Meter.Beats()) {
		if i+1 == beat {
			d.canvas.put(x, 1, '●', unset)
			d.canvas.at(x, 1).style = bold
		} else {
			d.canvas.put(x, 1, '○', d.tone(faint))
		}
		x += 2
	}
	return x + 1
}

// drawSmall writes what fits into a window that is too small for the stage.
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
	for i := range d.voices {
		d.text = d.voices[i].append(d.text[:0], s.Heads)
		y = d.wrap(y, d.text)
	}
	d.text = strconv.AppendInt(append(d.text[:0], "the stage is drawn from "...), MinWidth, 10)
	d.text = strconv.AppendInt(append(d.text, 'x'), MinHeight, 10)
	d.wrap(y, append(d.text, " on"...))
}

// wrap writes text on as many rows as it takes and returns the next.
func (d *Drawing) wrap(y int, text []byte) int {
	for len(text) > 0 && y < d.canvas.h {
		n := fit(text, d.canvas.w)
		d.canvas.text(0, y, d.canvas.w, text[:n], unset, 0)
		text = text[n:]
		y++
	}
	return y
}

// drawStage draws the light, the bars, the lamps and their names.
func (d *Drawing) drawStage(s *engine.Snapshot) {
	c, top := &d.canvas, d.lay.stage
	if d.colour {
		d.glow.light(d.lamps, s.Heads, d.haze(s.Heads))
		d.glow.paint(c, top, d.codes)
	}
	for _, b := range d.bars {
		for x := b.from; x < b.to; x++ {
			d.over(x, top+b.y, '─', grey(70))
		}
	}
	for i := range d.lamps {
		d.drawLamp(&d.lamps[i], top, &s.Heads[d.lamps[i].head])
	}
}

// over puts a rune on the stage, on the light that is there.
func (d *Drawing) over(x, y int, r rune, fg colour) {
	if x < 0 || x >= d.canvas.w {
		return
	}
	p := d.canvas.at(x, y)
	p.r, p.fg = r, fg
}

// body is what an unlit lamp looks like.
const body = 0.012

func (d *Drawing) drawLamp(l *lamp, top int, s *fixtures.State) {
	lit := lightOf(s, l.dims)
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

// shadeOf stands for brightness where there is no colour.
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

// haze returns how much of the beams shows: with no hazer a little, as dust
// does.
func (d *Drawing) haze(heads []fixtures.State) float32 {
	most := 0.0
	for i := range d.voices {
		if !d.voices[i].haze {
			continue
		}
		for _, h := range d.voices[i].heads {
			most = max(most, heads[h][fixtures.Haze])
		}
	}
	return float32(0.4 + float64(0.6*min(1, most)))
}
