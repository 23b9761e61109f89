package plot

import (
	"fmt"
	"math"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/shows/sheet"
)

// Overview draws the whole night on one page: every song under the last, its
// length to scale, its light from head to head, its energy, and the worst that
// was found.
func (n *Night) Overview(p sheet.Paper) *sheet.Sheet {
	d := sheet.New(p, n.Set, fmt.Sprintf("%s, %s: the light of %d songs.", n.Show, n.Set, len(n.Songs)))
	var longest, sum clock.Time
	for i := range n.Songs {
		longest, sum = max(longest, n.Songs[i].Length), sum+n.Songs[i].Length
	}
	d.Bold(edge, edge+5.5, 6, sheet.Start, sheet.Black, d.Fits(n.Show+": "+n.Set, 6, 180, true))
	d.Words(edge, edge+10.3, 3, sheet.Start, sheet.Dim, itoa(len(n.Songs))+" songs, "+minutes(sum)+" of music")
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
		s := &n.Songs[i]
		o := score{Sheet: d, song: s, time: scale{edge + left, float64(wide * float64(s.Length) / float64(max(1, longest))), s.Length}}
		o.small(i, top+float64(high*float64(i)), high)
	}
	axis := scale{edge + left, wide, longest}
	for m := clock.Time(0); m <= longest; m += 60 * clock.Second {
		x, y := axis.at(m), top+float64(high*float64(len(n.Songs)))
		d.Line(x, y, x, y+1.2, 0.2, sheet.Strong)
		d.Words(x, y+3.6, 2.2, sheet.Middle, sheet.Dim, minutes(m))
	}
	return d
}

// small draws a song into a strip of the night.
func (d *score) small(number int, y, high float64) {
	s := d.song
	size := min(3.2, high*0.22)
	d.Line(edge, y, d.Paper.W-edge, y, 0.15, sheet.Fine)
	d.Bold(edge, y+1+size, size, sheet.Start, sheet.Black, d.Fits(itoa(number+1)+"  "+s.Name, size, 48, true))
	if high > 2*size+2 {
		d.Words(edge, y+1+float64(2.3*size), size*0.8, sheet.Start, sheet.Dim, d.Fits(s.Tempo+", "+minutes(s.Length), size*0.8, 48, false))
	}
	marks := 0.0
	if high >= 14 {
		marks = 3
	}
	curve := (high - marks - 2.5) * 0.4
	lines := y + marks + 1 + curve + 0.8
	low := y + high - 1
	d.curves(y+marks+0.8, curve, d.time, min(0.7, high/30))
	parts := d.parts()
	for i := range parts {
		each := (low - lines) / float64(len(parts))
		d.thin(&parts[i], lines+float64(each*float64(i)), each)
		if each < 2 {
			continue
		}
		name := parts[i].Group
		if name == "" {
			name = parts[i].Name
		}
		d.Words(d.time.x-1, lines+float64(each*(float64(i)+0.5))+0.7, 2, sheet.End, sheet.Dim, d.Fits(name, 2, 22, false))
	}
	for i := range s.Sections {
		x, to := d.time.at(s.Sections[i].From), d.time.at(s.Sections[i].To)
		d.Line(x, y+0.6, x, low, 0.2, sheet.Strong)
		if marks > 0 {
			d.Words(x+0.7, y+2.9, 2.2, sheet.Start, sheet.Black, d.Fits(s.Sections[i].Name, 2.2, to-x-1, false))
		}
	}
	d.Line(d.time.at(s.Length), y+0.6, d.time.at(s.Length), low, 0.5, sheet.Strong)
	d.verdict(d.Paper.W-edge-54, y+1+size, size, high, low)
}

// verdict says at the right whether light follows the song, and the worst found.
func (d *score) verdict(x, y, size, high, low float64) {
	s := d.song
	says := s.Verdict()
	if !math.IsNaN(s.Rank) {
		says += fmt.Sprintf(" (%.2f)", s.Rank)
	}
	d.Bold(x, y, size*0.85, sheet.Start, sheet.Black, d.Fits(says, size*0.85, 54, true))
	worst, found := s.Worst()
	if !found {
		return
	}
	small := max(1.6, size*0.75)
	step := float64(small * 1.3)
	d.Disc(d.time.at(worst.At), low, min(1, size/3), sheet.Black, sheet.White, 0.2)
	d.Disc(x-2, y+step-small/3, min(1, size/3), sheet.Black, sheet.White, 0.2)
	text := worst.Weight.String() + ", " + worst.Place + ": " + worst.Words
	if more := len(s.Notes) - 1; more > 0 {
		text += " (and " + itoa(more) + " more)"
	}
	for i, l := range d.Wrap(text, small, 54, max(1, int((high-size-2)/step))) {
		d.Words(x, y+float64(step*float64(i+1)), small, sheet.Start, sheet.Black, l)
	}
}

// parts puts the heads of a group into one line.
func (d *score) parts() []Row {
	var out []Row
	var count []float64
	n := d.song.columns()
	for i := range d.song.Rows {
		r := &d.song.Rows[i]
		if m := len(out); m == 0 || r.Group == "" || out[m-1].Group != r.Group {
			out = append(out, Row{r.Name, r.Group, make([]float64, n), make([]fixtures.RGB, n)})
			count = append(count, 0)
		}
		o := &out[len(out)-1]
		count[len(count)-1]++
		for c := range n {
			o.Light[c] += r.Light[c]
			for k := range o.Hue[c] {
				o.Hue[c][k] += r.Hue[c][k]
			}
		}
	}
	for i := range out {
		for c := range n {
			out[i].Light[c] /= count[i]
		}
	}
	return out
}

// thin draws a part in a strip.
func (d *score) thin(r *Row, y, high float64) {
	air := min(0.2, high/10)
	d.Rect(d.time.x, y+air, d.time.wide, high-2*air, sheet.Rest)
	n := len(r.Light)
	if n == 0 {
		return
	}
	cols := min(n, max(1, int(d.time.wide*4)))
	b := sheet.Band{X: d.time.x, Y: y + high/2, Step: d.time.wide / float64(cols)}
	for c := range cols {
		from, to := c*n/cols, max(c*n/cols+1, (c+1)*n/cols)
		mean, hue := 0.0, fixtures.RGB{}
		for i := from; i < to; i++ {
			mean += min(1, max(0, r.Light[i]))
			for k := range hue {
				hue[k] += r.Hue[i][k]
			}
		}
		half := (high/2 - air) * mean / float64(to-from)
		b.Half = append(b.Half, half)
		b.Ink = append(b.Ink, sheet.InkOf(hue))
	}
	d.Put(b)
}
