package plot

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/plan"
	"tactus/shows/sheet"
)

// Measures of a song's picture in millimetres.
const (
	edge      = 10.0 // of the paper
	names     = 34.0 // left of the lines
	tail      = 16.0 // right of them, for the names of the curves
	headHigh  = 13.0 // title
	markHigh  = 11.0 // section names and bar numbers
	staffHigh = 30.0 // energy
	looksHigh = 6.0  // names of looks
	rowMost   = 12.0
	rowLeast  = 0.15
	listLine  = 4.0
	listSize  = 2.7
)

// mostColumns is how many columns of a song are drawn at most: about one a pixel on a
// page of 150 dots an inch.
const mostColumns = 1400

// Score draws one song of a night, by its place in the night's songs.
func Score(n *plan.Night, song int, p sheet.Paper) *sheet.Sheet {
	s := &n.Songs[song]
	d := newScore(n, song, sheet.New(p, s.Name, ""), scale{edge + names, p.W - 2*edge - names - tail, s.Time})
	d.About = fmt.Sprintf("%s: the light of %d heads over %d bars, with %d things to look at. %s.",
		s.Name, len(d.heads), len(d.bars), len(d.findings), s.FollowsInWords())
	d.title()
	list := d.legend()
	listHigh := 5.0 + float64(listLine*float64(len(list)))
	top := edge + headHigh + markHigh + staffHigh + looksHigh + 3.5
	low := d.layout(top, p.H-edge-listHigh-6)
	d.sections(edge+headHigh, low)
	d.energy(edge+headHigh+markHigh, staffHigh)
	d.writeLooks(edge+headHigh+markHigh+staffHigh+1.5, looksHigh)
	d.barLines(edge+headHigh+markHigh-1, edge+headHigh+markHigh, low)
	d.rows(top)
	for i := range s.Sections {
		x := d.time.at(s.Sections[i].From)
		d.Line(x, top, x, low, 0.25, sheet.Strong)
	}
	d.drawPins(low+4, top)
	d.list(list, low+9)
	d.Words(p.W-edge, p.H-edge+3, 2.2, sheet.End, sheet.Dim, key)
	return d.Sheet
}

// key explains the signs, at the foot of the page.
const key = "solid: energy, as declared.  dashed: strength of the light, from brightness, motion and heads lit.  grey: brightness from moment to moment.  A head's line is as thick as the head is bright."

// score is a song's picture while it is drawn.
type score struct {
	*sheet.Sheet
	show     *shows.Show
	song     *plan.Song
	written  *engine.Song   // the song as its file has it
	bars     []bar          // in order
	heads    []row          // those with light
	columns  []*plan.Column // of the song, even in time
	findings []plan.Finding // that nobody has accepted, in order of time
	time     scale
	high     float64 // of a row
	gap      float64 // between groups
}

// bar is where a bar begins.
type bar struct {
	at     clock.Time
	number int // in its section, from 1
}

func newScore(n *plan.Night, song int, s *sheet.Sheet, time scale) *score {
	d := &score{Sheet: s, show: n.Show, song: &n.Songs[song], time: time}
	d.written = &n.Show.Program.Songs[d.song.Index]
	d.heads = slices.DeleteFunc(headRows(n.Show), func(r row) bool { return n.Heads[r.heads[0]].Flux == 0 }) // haze is no light
	for i := range d.song.Sections {
		x := &d.song.Sections[i]
		for number := range d.written.SectionBars(x.Index) {
			d.bars = append(d.bars, bar{d.written.TimeAt(d.written.BarStart(x.Start, number)), int(number) + 1})
		}
	}
	// Measured columns are even in beats.
	count := min(mostColumns, len(d.song.Columns))
	for c := range clock.Time(count) {
		at := d.song.Time/clock.Time(count)*c + d.song.Time/clock.Time(2*count)
		column := int(d.written.BeatAt(at) * plan.PerQuarter / clock.Quarter)
		d.columns = append(d.columns, &d.song.Columns[min(len(d.song.Columns)-1, column)])
	}
	d.findings = plan.Open(d.song.Findings, plan.Hint)
	slices.SortStableFunc(d.findings, func(a, b plan.Finding) int { return cmp.Compare(a.Beat, b.Beat) })
	return d
}

// timeOf returns the time of a finding.
func (d *score) timeOf(f *plan.Finding) clock.Time { return d.written.TimeAt(f.Beat) }

func (d *score) tempoAndLength() string {
	return fmt.Sprintf("%s, %s, %s", d.written.Meter.PerBeat(d.written.Tempo), d.written.Meter, language.Minutes(d.song.Time))
}

func (d *score) title() {
	s, right := d.song, d.Paper.W-edge
	side := s.FollowsInWords()
	if rho := s.Follows(); !math.IsNaN(rho) {
		side += fmt.Sprintf("   (rank correlation %.2f)", rho)
	}
	room := right - edge - d.Width(side, 3.6, true) - 6
	d.Bold(edge, edge+5.5, 6, sheet.Start, sheet.Black, d.Fits(s.Name, 6, room, true))
	d.Bold(right, edge+5, 3.6, sheet.End, sheet.Black, side)
	d.Words(edge, edge+10.3, 3, sheet.Start, sheet.Dim, d.tempoAndLength())
	d.Words(right, edge+10.3, 2.7, sheet.End, sheet.Dim, d.Fits(d.show.Program.Name+" — "+d.show.Program.SetName, 2.7, 140, false))
}

// sections writes the rehearsal marks, and rules the score where they begin.
func (d *score) sections(y, bottom float64) {
	for i := range d.song.Sections {
		s := &d.song.Sections[i]
		x, to := d.time.at(s.From), d.time.at(s.To)
		d.Line(x, y+1, x, bottom, 0.35, sheet.Strong)
		d.label(x+1, y+4.2, to-x-1.6, s.Name)
	}
	x := d.time.at(d.song.Time)
	d.Line(x-1, y+markHigh, x-1, bottom, 0.25, sheet.Strong)
	d.Line(x, y+markHigh, x, bottom, 0.8, sheet.Strong)
}

// label writes a section's name into the room there is: whole, smaller, short,
// or not at all.
func (d *score) label(x, y, room float64, name string) {
	for _, size := range []float64{3.4, 2.8, 2.3} {
		if d.Width(name, size, true) <= room {
			d.Bold(x, y, size, sheet.Start, sheet.Black, name)
			return
		}
	}
	if short := d.Fits(name, 2.3, room, true); len([]rune(short)) > 2 {
		d.Bold(x, y, 2.3, sheet.Start, sheet.Black, short)
		return
	}
	if room >= 2.2 {
		d.Write(sheet.Words{X: x + 1.8, Y: y + 3.2, Size: 2, Bold: true, Turned: true, Ink: sheet.Black, Text: d.Fits(name, 2, 6.5, true)})
	}
}

// barLines draws bar lines with their numbers. A section's first bar has the line of
// the section.
func (d *score) barLines(y, top, bottom float64) {
	step := d.time.step(len(d.bars), 5)
	for i, b := range d.bars {
		if b.number == 1 || (b.number-1)%step != 0 {
			continue
		}
		x := d.time.at(b.at)
		d.Line(x, top, x, bottom, 0.12, sheet.Fine)
		if i+1 < len(d.bars) || step == 1 {
			d.Words(x, y, 2, sheet.Middle, sheet.Dim, itoa(b.number))
		}
	}
}

// layout divides the height among the heads and returns where they end.
func (d *score) layout(top, bottom float64) float64 {
	rows := d.heads
	if len(rows) == 0 {
		return top
	}
	gaps := 0
	for i := 1; i < len(rows); i++ {
		if rows[i].group != rows[i-1].group {
			gaps++
		}
	}
	d.gap = min(2, (bottom-top)/4/float64(max(1, gaps)))
	between := float64(d.gap * float64(gaps))
	d.high = max(rowLeast, min(rowMost, (bottom-top-between)/float64(len(rows))))
	return top + between + float64(d.high*float64(len(rows)))
}

// rows draws the heads.
func (d *score) rows(top float64) {
	rows := d.heads
	y, from := top, top
	for i := range rows {
		if i > 0 && rows[i].group != rows[i-1].group {
			d.bracket(rows[i-1].group, from, y)
			y += d.gap
			from = y
		}
		d.row(&rows[i], y, d.high, i)
		y += d.high
	}
	if len(rows) > 0 {
		d.bracket(rows[len(rows)-1].group, from, y)
	}
}

// row draws a head's line: a dark ground that even white light stands out from, a thin
// line, and the light around it.
func (d *score) row(r *row, y, high float64, number int) {
	air := min(0.5, high/8)
	d.Rect(d.time.x, y, d.time.wide, high, sheet.Rest)
	mid := y + high/2
	d.Line(d.time.x, mid, d.time.x+d.time.wide, mid, 0.1, sheet.Dim)
	d.band(r, mid, (high-2*air)/2, len(d.columns))
	size := min(2.7, high*0.8)
	if size < 1.5 { // too many for a name each
		if every := int(math.Ceil(1.8 / high)); number%every != 0 {
			return
		}
		size = 1.5
	}
	d.Words(d.time.x-1.5, mid+size*0.35, size, sheet.End, sheet.Black, d.Fits(r.name, size, names-13, false))
}

// bracket joins the lines of a group.
func (d *score) bracket(name string, from, to float64) {
	if name == "" {
		return
	}
	x := edge + 10.0
	d.Line(x, from+0.3, x, to-0.3, 0.6, sheet.Strong)
	d.Line(x, from+0.3, x+1.5, from+0.3, 0.35, sheet.Strong)
	d.Line(x, to-0.3, x+1.5, to-0.3, 0.35, sheet.Strong)
	for _, size := range []float64{2.7, 2.3, 2} {
		if d.Width(name, size, true) <= to-from {
			d.Write(sheet.Words{X: x - 1.5, Y: (from + to) / 2, Size: size, Bold: true, Turned: true, Side: sheet.Middle, Ink: sheet.Black, Text: name})
			return
		}
	}
	if to-from < 2.2 {
		return
	}
	for i, l := range d.Wrap(name, 1.9, 9, 2) { // lying, where there is no room to turn it
		d.Words(x-1, (from+to)/2+0.6+float64(2.1*float64(i)), 1.9, sheet.End, sheet.Black, l)
	}
}
