package laptop

import (
	"fmt"
	"html"
	"io"
	"math"
	"strings"
)

// The picture, in pixels.
const (
	picWide, picHigh = 960, 480
	plotLeft         = 80
	plotRight        = picWide - 30
	plotTop          = 90
	plotBottom       = picHigh - 80
)

// The axis goes from 1 µs to 1 s, each decade in eight steps.
const (
	decades = 6
	steps   = 8
)

// counts sorts wakes into the steps of the axis; what lies beyond counts at its end.
func (p *Probe) counts() (n [decades * steps]int64) {
	for _, bar := range p.late.Distribution() {
		if bar.Count > 0 {
			micro := max(float64(bar.From)/1000, 1)
			n[min(int(math.Log10(micro)*steps), len(n)-1)] += bar.Count
		}
	}
	return n
}

// across returns where a lateness in milliseconds lies.
func across(ms float64) float64 {
	x := math.Log10(max(ms*1000, 1)) / decades
	return plotLeft + float64(min(x, 1)*(plotRight-plotLeft))
}

// canvas takes what a picture is made of. Colours are 0xRRGGBB; anchor is where
// in the text x lies: 0 its start, 1 its middle, 2 its end.
type canvas interface {
	bar(x, y, wide, high float64, colour uint32)
	word(x, y float64, anchor int, colour uint32, text string)
}

// Colours.
const (
	white = 0xffffff
	black = 0x111111
	grey  = 0x555555
	pale  = 0xcccccc
	blue  = 0x2266aa
	red   = 0xcc3311
)

// draw draws how late frames woke as a histogram with a logarithmic axis, from
// 1 µs to 1 s; bars count wakes, in powers of ten too. limit is a frame's
// length in milliseconds.
func (p *Probe) draw(c canvas, r *Report, limit float64) {
	m := &r.Measured
	c.bar(0, 0, picWide, picHigh, white)
	c.word(plotLeft, 32, 0, black, fmt.Sprintf("How late %d frames woke: this computer is %s", m.Frames, r.Verdict))
	c.word(plotLeft, 56, 0, grey, fmt.Sprintf("p50 %.3f ms, p99 %.3f ms, worst %.3f ms; %d missed", m.Late.P50, m.Late.P99, m.Late.Worst, m.Missed))
	counts := p.counts()
	top := int64(1)
	for _, n := range counts {
		top = max(top, n)
	}
	rows := max(math.Ceil(math.Log10(float64(top))), 1)
	up := func(n float64) float64 {
		return plotBottom - float64((math.Log10(n)+0.3)/(rows+0.3)*(plotBottom-plotTop))
	}
	for e := 0.0; e <= rows; e++ {
		y := up(math.Pow(10, e))
		c.bar(plotLeft, y, plotRight-plotLeft, 1, pale)
		c.word(plotLeft-8, y+5, 2, grey, fmt.Sprintf("%.0f", math.Pow(10, e)))
	}
	for e, name := range []string{"1 µs", "10 µs", "100 µs", "1 ms", "10 ms", "100 ms", "1 s"} {
		x := across(math.Pow(10, float64(e)-3))
		c.bar(x, plotTop, 1, plotBottom-plotTop+6, pale)
		c.word(x, plotBottom+24, 1, grey, name)
	}
	step := float64(plotRight-plotLeft) / float64(len(counts))
	for i, n := range counts {
		if n > 0 {
			y := up(float64(n))
			c.bar(plotLeft+float64(float64(i)*step)+1, y, step-2, plotBottom-y, blue)
		}
	}
	c.bar(across(limit), plotTop, 2, plotBottom-plotTop, red)
	c.word(across(limit)+8, plotTop+18, 0, red, fmt.Sprintf("a whole frame, %.1f ms", limit))
	c.bar(plotLeft, plotBottom, plotRight-plotLeft, 1, black)
	c.word((plotLeft+plotRight)/2, picHigh-22, 1, black, "lateness across, frames upwards; both in powers of ten")
}

// svg is a canvas of text.
type svg struct{ strings.Builder }

func (s *svg) bar(x, y, wide, high float64, colour uint32) {
	fmt.Fprintf(s, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="#%06x"/>`+"\n", x, y, wide, high, colour)
}

func (s *svg) word(x, y float64, anchor int, colour uint32, text string) {
	at := [...]string{"start", "middle", "end"}[anchor]
	fmt.Fprintf(s, `<text x="%.1f" y="%.1f" text-anchor="%s" fill="#%06x">%s</text>`+"\n", x, y, at, colour, html.EscapeString(text))
}

// WriteSVG writes the histogram as SVG; limit is a frame's length in
// milliseconds. Errors are those of w.
func (p *Probe) WriteSVG(w io.Writer, r *Report, limit float64) error {
	var s svg
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %[1]d %[2]d" font-family="sans-serif" font-size="15">`+"\n", picWide, picHigh)
	p.draw(&s, r, limit)
	s.WriteString("</svg>\n")
	_, err := io.WriteString(w, s.String())
	return err
}
