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
	d := sheet.New(p, set, fmt.Sprintf("%s, %s: the light of %d songs.", show, set, len(n.Songs)))
	var longest, sum clock.Time
	for i := range n.Songs {
		longest, sum = max(longest, n.Songs[i].Time), sum+n.Songs[i].Time
	}
	d.Bold(edge, edge+5.5, 6, sheet.Start, sheet.Black, d.Fits(show+": "+set, 6, 180, true))
	d.Words(edge, edge+10.3, 3, sheet.Start, sheet.Dim, itoa(len(n.Songs))+" songs, "+language.Minutes(sum)+" of music")
	top, bottom := edge+15, p.H-edge-6
	d.Words(p.W-edge, p.H-edge+3, 2.2, sheet.End, sheet.Dim, "solid: energy declared; dashed: measured; grey: from moment to moment.   under it a line for each group, thick where it is bright")
	if len(n.Songs) == 0 {
		d.Words(edge, top+6, 3.4, sheet.Start, sheet.Black, "No songs in this set.")
		return d
	}
	const left, right = 50.0, 58.0
	wide := p.W - 2*edge - left - right
	high := min(50, (bottom-top)/float64(len(n.Songs)))
	for i := range n.Songs {
		length := n.Songs[i].Time
		o := newScore(n, i, d, scale{edge + left, float64(wide * float64(length) / float64(max(1, longest))), length})
		o.strip(i, top+float64(high*float64(i)), high)
	}
	axis := scale{edge + left, wide, longest}
	for m := clock.Time(0); m <= longest; m += 60 * clock.Second {
		x, y := axis.at(m), top+float64(high*float64(len(n.Songs)))
		d.Line(x, y, x, y+1.2, 0.2, sheet.Strong)
		d.Words(x, y+3.6, 2.2, sheet.Middle, sheet.Dim, language.Minutes(m))
	}
	return d
}

// strip draws a song into a strip of the night.
func (d *score) strip(number int, y, high float64) {
	s := d.song
	size := min(3.2, high*0.22)
	d.Line(edge, y, d.Paper.W-edge, y, 0.15, sheet.Fine)
	d.Bold(edge, y+1+size, size, sheet.Start, sheet.Black, d.Fits(itoa(number+1)+"  "+s.Name, size, 48, true))
	if high > 2*size+2 {
		d.Words(edge, y+1+float64(2.3*size), size*0.8, sheet.Start, sheet.Dim, d.Fits(d.tempoAndLength(), size*0.8, 48, false))
	}
	marks := 0.0
	if high >= 14 {
		marks = 3
	}
	curve := (high - marks - 2.5) * 0.4
	lines := y + marks + 1 + curve + 0.8
	low := y + high - 1
	d.curves(y+marks+0.8, curve, d.time, min(0.7, high/30))
	rows := groupRows(d.heads)
	each := (low - lines) / float64(len(rows))
	air := min(0.2, each/10)
	for i := range rows {
		at := lines + float64(each*float64(i))
		d.Rect(d.time.x, at+air, d.time.wide, each-2*air, sheet.Rest)
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
	d.verdict(d.Paper.W-edge-54, y+1+size, size, high, low)
}

// verdict says at the right whether light follows the song, and the worst found.
func (d *score) verdict(x, y, size, high, low float64) {
	says := d.song.FollowsInWords()
	if rho := d.song.Follows(); !math.IsNaN(rho) {
		says += fmt.Sprintf(" (%.2f)", rho)
	}
	d.Bold(x, y, size*0.85, sheet.Start, sheet.Black, d.Fits(says, size*0.85, 54, true))
	open := plan.Open(d.song.Findings, plan.Hint) // the worst first
	if len(open) == 0 {
		return
	}
	worst := &open[0]
	small := max(1.6, size*0.75)
	step := float64(small * 1.3)
	d.Disc(d.time.at(d.when(worst)), low, min(1, size/3), sheet.Black, sheet.White, 0.2)
	d.Disc(x-2, y+step-small/3, min(1, size/3), sheet.Black, sheet.White, 0.2)
	text := worst.Severity.String() + ", " + inWords(worst)
	if more := len(open) - 1; more > 0 {
		text += " (and " + itoa(more) + " more)"
	}
	for i, l := range d.Wrap(text, small, 54, max(1, int((high-size-2)/step))) {
		d.Words(x, y+float64(step*float64(i+1)), small, sheet.Start, sheet.Black, l)
	}
}
