package draw

import (
	"strings"

	"tactus/clock"
	"tactus/engine"
)

// ribbon maps a song's beats to columns of the screen.
type ribbon struct {
	song    *engine.Song
	from, w int
}

// column returns the column of a beat; the song's end is one past the last column.
func (r *ribbon) column(at clock.Beat) int {
	length := r.song.Length()
	if length <= 0 {
		return r.from
	}
	at = max(0, min(at, length))
	return r.from + int(float64(at)/float64(length)*float64(r.w))
}

// drawRibbon draws the song as a score: sections to scale, their energy as height,
// cues above them, and the play head.
func (d *Drawing) drawRibbon(s *engine.Snapshot) {
	song := songOf(d.prog, s)
	if song == nil {
		d.drawNight(s)
		return
	}
	c := &d.canvas
	r := ribbon{song: song, from: 1, w: c.w - 2}
	d.drawBars(&r)
	for i := range song.Cues {
		c.setCell(min(r.column(song.Cues[i].At), c.w-2), d.rows.marks, '╷', d.tone(faint))
	}
	for i := range song.Sections {
		d.drawSection(&r, int32(i), s)
	}
	if notBegun(song, s) {
		return
	}
	head := min(r.column(s.Status.Beat), c.w-2)
	for y := range d.rows.energyRows {
		p := c.at(head, d.rows.energy+y)
		if p.r == ' ' {
			p.r = '│'
		}
		p.fg = unset
		p.style |= bold
		if !d.colour {
			p.r = '┃'
		}
	}
	c.setCell(head, d.rows.marks, '▼', unset)
	c.at(head, d.rows.marks).style = bold
	if a := s.Status.Armed; a != engine.None {
		d.drawTarget(&r, r.column(song.Sections[a].Start))
	}
}

// drawBars marks every bar line, or every second, fourth and so on where they would
// be closer than 4 columns.
func (d *Drawing) drawBars(r *ribbon) {
	bar := r.song.Meter.Bar()
	step := clock.Beat(1)
	for step < r.song.Length()/bar && r.column(step*bar)-r.from < 4 {
		step *= 2
	}
	left := clock.Beat(0)
	for at := clock.Beat(0); at < r.song.Length(); at = r.song.NextBar(at) {
		if left == 0 {
			d.canvas.setCell(r.column(at), d.rows.marks, '·', d.tone(faint))
			left = step
		}
		left--
	}
}

// drawTarget marks the start of the armed section.
func (d *Drawing) drawTarget(r *ribbon, x int) {
	c := &d.canvas
	d.text = append(d.text[:0], "◆ armed "...)
	if n := columns(d.text); x+n > r.from+r.w {
		x = r.from + r.w - n
	}
	c.text(x, d.rows.marks, c.w-1, d.text, unset, bold)
}

func (d *Drawing) drawSection(r *ribbon, i int32, s *engine.Snapshot) {
	c, section := &d.canvas, &r.song.Sections[i]
	from, to := r.column(section.Start), r.column(section.Start+section.Length)
	width := to - from
	if width > 2 {
		width-- // leaves a gap before the next section
	}
	full := d.rows.energyRows * 8
	height := max(1, full*int(max(0, min(10, section.Energy)))/10)
	fg := d.sectionColour(r.song, i, s)
	blocks := [...]rune{' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'}
	for y := range d.rows.energyRows {
		part := max(0, min(8, height-(d.rows.energyRows-1-y)*8))
		for x := from; x < from+width; x++ {
			c.setCell(x, d.rows.energy+y, blocks[part], fg)
		}
	}
	st, tone := style(0), d.tone(quiet)
	if s.Status.Section == i {
		st, tone = bold|reverse, unset
	}
	d.text = shorten(d.text[:0], section.Name, width)
	c.text(from, d.rows.names, from+width, d.text, tone, st)
}

// sectionColour is the song's main colour: bright for the section that plays, dull
// for those before it.
func (d *Drawing) sectionColour(song *engine.Song, i int32, s *engine.Snapshot) colour {
	share := 0.2
	section := &song.Sections[i]
	switch {
	case s.Status.Section == i:
		share = 1
	case s.Status.Beat >= section.Start+section.Length:
		share = 0.05
	}
	p := song.Palette[engine.Main].Mix(song.Palette[engine.Accent], 0.15)
	l := scaled(p, share)
	floor := float32(0.05 * share)
	return d.codes.colour(light{l[0] + floor, l[1] + floor, l[2] + floor})
}

// drawNight lists the songs of the set while no song is chosen.
func (d *Drawing) drawNight(s *engine.Snapshot) {
	c, y := &d.canvas, d.rows.marks
	for _, i := range d.prog.SetList {
		if y > d.rows.names {
			return
		}
		d.text = append(d.text[:0], d.prog.Songs[i].Name...)
		c.text(1, y, c.w-1, d.text, d.tone(quiet), 0)
		y++
	}
}

// shorten appends a section's name if it fits, else up to 4 of its first letters
// with its number, else nothing.
func shorten(b []byte, name string, room int) []byte {
	if columns([]byte(name)) <= room {
		return append(b, name...)
	}
	stem, number := baseName(name), headNumber(name)
	for _, letters := range [...]int{4, 3, 2, 1} {
		if letters+len(number) <= room && letters < len(stem) && stem[letters-1] < 0x80 {
			return appendAll(b, strings.TrimRight(stem[:letters], " -."), number)
		}
	}
	return b
}
