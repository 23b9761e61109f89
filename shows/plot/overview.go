package plot

import (
	"fmt"
	"math"

	"tactus/clock"
	"tactus/shows/language"
	"tactus/shows/plan"
	"tactus/shows/sheet"
)

// Overview draws the whole night on one page: every song below the one before, with
// its length to scale, the light of each group, its energy, and its worst finding.
func Overview(n *plan.Night, p sheet.Paper) *sheet.Sheet {
	show, set := n.Show.Program.Name, n.Show.Program.SetName
	d := sheet.New(p, set, fmt.Sprintf("%s, %s: the light of %s.", show, set, language.Count(len(n.Songs), "song")))
	var longest, sum clock.Time
	for i := range n.Songs {
		longest, sum = max(longest, n.Songs[i].Time), sum+n.Songs[i].Time
	}
	d.Bold(edge, edge+5.5, 6, sheet.Start, sheet.Black, d.Fits(show+": "+set, 6, 180, true))
	d.Words(edge, edge+10.3, 3, sheet.Start, sheet.Dim, language.Count(len(n.Songs), "song")+", "+language.Minutes(sum)+" of music")
	top, bottom := edge+17, p.H-edge-9
	d.Words(p.W-edge, p.H-edge+3, 2.2, sheet.End, sheet.Dim, "solid: energy, as declared.  dashed: strength of the light.  grey: brightness from moment to moment.  below them a line for each group, thick where it is bright")
	if len(n.Songs) == 0 {
		d.Words(edge, top+6, 3.4, sheet.Start, sheet.Black, "No songs in this set.")
		return d
	}
	high := min(highest, (bottom-top)/float64(len(n.Songs)))
	right := findingsWide + 8
	if high >= tallStrip { // findings have room below the name
		right = 6
	}
	axis := scale{edge + nameWide + 24, p.W - 2*edge - nameWide - 24 - right, longest}
	foot := top + float64(high*float64(len(n.Songs)))
	overviewAxis(d, axis, top, foot)
	for i := range n.Songs {
		length := n.Songs[i].Time
		o := newScore(n, i, d, scale{axis.x, float64(axis.wide * float64(length) / float64(max(1, longest))), length})
		o.drawStrip(i, top+float64(high*float64(i)), high)
	}
	return d
}

// Measures of a night's picture in millimetres.
const (
	highest      = 90.0 // of a song
	tallStrip    = 30.0 // from this height on findings are below a song's name
	nameWide     = 42.0 // of names and what is below them
	findingsWide = 54.0 // of findings beside the song
)

// overviewAxis rules minutes and seconds through all songs, numbered above and below.
func overviewAxis(d *sheet.Sheet, axis scale, top, foot float64) {
	step := axis.minutes(16)
	for t := clock.Time(0); t <= axis.length; t += step {
		x := axis.at(t)
		d.Line(x, top-1.2, x, foot+1.2, 0.1, sheet.Fine)
		d.Words(x, top-1.9, 2.2, sheet.Middle, sheet.Dim, language.Minutes(t))
		d.Words(x, foot+3.4, 2.2, sheet.Middle, sheet.Dim, language.Minutes(t))
	}
	d.Words(axis.x-6, top-1.9, 2.2, sheet.End, sheet.Dim, "minutes:seconds")
	d.Words(axis.x-6, foot+3.4, 2.2, sheet.End, sheet.Dim, "minutes:seconds")
}

// drawStrip draws a song into a strip of the night.
func (d *score) drawStrip(number int, y, high float64) {
	s := d.song
	size := min(3.2, high*0.22)
	d.Line(edge, y, d.Paper.W-edge, y, 0.15, sheet.Fine)
	d.Bold(edge, y+1+size, size, sheet.Start, sheet.Black, d.Fits(itoa(number+1)+"  "+s.Name, size, nameWide, true))
	if high > 2*size+2 {
		d.Words(edge, y+1+float64(2.3*size), size*0.8, sheet.Start, sheet.Dim, d.Fits(d.tempoAndLength(), size*0.8, nameWide, false))
	}
	marks := 0.0
	if high >= 14 {
		marks = 3
	}
	curve := (high - marks - 2.5) * 0.4
	lines := y + marks + 1 + curve + 0.8
	low := y + high - 1
	d.curves(y+marks+0.8, curve, d.time, min(0.7, high/30))
	if curve >= 5 {
		for _, v := range []int{0, 5, 10} {
			d.Words(d.time.x-1, level(y+marks+0.8, curve, float64(v))+0.7, 2, sheet.End, sheet.Dim, itoa(v))
		}
		d.Words(d.time.x-5, level(y+marks+0.8, curve, 5)+0.7, 2, sheet.End, sheet.Dim, "energy, strength")
	}
	rows := groupRows(d.heads)
	each := (low - lines) / float64(len(rows))
	air := min(0.3, each/10)
	for i := range rows {
		at := lines + float64(each*float64(i))
		d.Rect(d.time.x, at, d.time.wide, each, sheet.Rest)
		d.band(&rows[i], at+each/2, each/2-air, int(d.time.wide*4))
		if each >= 2 {
			d.Words(d.time.x-1, at+each/2+0.7, 2, sheet.End, sheet.Dim, d.Fits(rows[i].name, 2, 22, false))
		}
	}
	for i := range s.Sections {
		x, to := d.time.at(s.Sections[i].From), d.time.at(s.Sections[i].To)
		d.Line(x, y+0.6, x, low, 0.2, sheet.Strong)
		if marks > 0 {
			d.Words(x+0.7, y+2.9, 2.2, sheet.Start, sheet.Black, d.Fits(s.Sections[i].Name, 2.2, to-x-1, false))
		}
	}
	d.Line(d.time.at(s.Time), y+0.6, d.time.at(s.Time), low, 0.5, sheet.Strong)
	if high >= tallStrip {
		d.verdict(edge, y+1+float64(3.7*size), size, nameWide, high-float64(3.7*size), low)
	} else {
		d.verdict(d.Paper.W-edge-findingsWide, y+1+size, size, findingsWide, high, low)
	}
}

// verdict says whether light follows the song, and the worst found, in a column of a
// width and height.
func (d *score) verdict(x, y, size, wide, high, low float64) {
	says := d.song.FollowsInWords()
	if rho := d.song.Follows(); !math.IsNaN(rho) {
		says += fmt.Sprintf(" (%.2f)", rho)
	}
	bold := min(size*0.85, wide/max(1, d.Width(says, 1, true)))
	d.Bold(x, y, bold, sheet.Start, sheet.Black, says)
	open := plan.Open(d.song.Findings, plan.Hint) // the worst first
	if len(open) == 0 {
		return
	}
	worst := &open[0]
	small := max(1.6, size*0.75)
	step := float64(small * 1.3)
	sign := min(1, size/3)
	d.Disc(d.time.at(d.timeOf(worst)), low, sign, sheet.Black, sheet.White, 0.2)
	d.Disc(x+sign, y+step-small/3, sign, sheet.Black, sheet.White, 0.2)
	text := worst.Severity.String() + ", " + inWords(worst)
	if more := len(open) - 1; more > 0 {
		text += " (and " + itoa(more) + " more)"
	}
	for i, l := range d.Wrap(text, small, wide-3, max(1, int((high-size-2)/step))) {
		d.Words(x+3, y+float64(step*float64(i+1)), small, sheet.Start, sheet.Black, l)
	}
}
