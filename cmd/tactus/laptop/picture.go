package laptop

import (
	"fmt"
	"math"

	"tactus/protocol/dmx"
	"tactus/shows/sheet"
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
	decades     = 6
	decadeSteps = 8
)

// histogram counts the wakes in each step of the axis; wakes beyond an end count in the
// step there.
func (p *Probe) histogram() (n [decades * decadeSteps]int64) {
	for _, bar := range p.late.Distribution() {
		if bar.Count > 0 {
			micro := max(float64(bar.From)/1000, 1)
			n[min(int(math.Log10(micro)*decadeSteps), len(n)-1)] += bar.Count
		}
	}
	return n
}

// xOf returns the x position of a lateness in milliseconds.
func xOf(ms float64) float64 {
	x := math.Log10(max(ms*1000, 1)) / decades
	return plotLeft + float64(min(x, 1)*(plotRight-plotLeft))
}

// dpi is the resolution at which one pixel of the picture is one pixel of the PNG.
const dpi = 96

// canvas draws on a sheet. Its coordinates are pixels.
type canvas struct{ *sheet.Sheet }

func mm(pixels float64) float64 { return pixels * 25.4 / dpi }

func (c canvas) bar(x, y, wide, high float64, colour sheet.Ink) {
	c.Rect(mm(x), mm(y), mm(wide), mm(high), colour)
}

func (c canvas) word(x, y float64, at sheet.Side, colour sheet.Ink, text string) {
	c.Words(mm(x), mm(y), mm(15), at, colour, text)
}

// Colours.
const (
	black sheet.Ink = 0x111111
	grey  sheet.Ink = 0x555555
	pale  sheet.Ink = 0xcccccc
	blue  sheet.Ink = 0x2266aa
	red   sheet.Ink = 0xcc3311
)

// draw draws a histogram of how late frames woke. Both axes are logarithmic:
// lateness from 1 µs to 1 s, and the number of wakes.
func (p *Probe) draw(r *Report) *sheet.Sheet {
	m := &r.Measured
	const limit = 1000.0 / dmx.MaxRate // a frame's length in milliseconds
	about := fmt.Sprintf("How late %d frames woke: this computer is %s", m.Frames, r.Verdict)
	c := canvas{sheet.New(sheet.Paper{W: mm(picWide), H: mm(picHigh)}, about, "A histogram: lateness across, frames upwards; both in powers of ten.")}
	c.word(plotLeft, 32, sheet.Start, black, about)
	c.word(plotLeft, 56, sheet.Start, grey, fmt.Sprintf("p50 %.3f ms, p99 %.3f ms, worst %.3f ms; %d missed", m.Late.P50, m.Late.P99, m.Late.Worst, m.Missed))
	counts := p.histogram()
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
		c.word(plotLeft-8, y+5, sheet.End, grey, fmt.Sprintf("%.0f", math.Pow(10, e)))
	}
	for e, name := range []string{"1 µs", "10 µs", "100 µs", "1 ms", "10 ms", "100 ms", "1 s"} {
		x := xOf(math.Pow(10, float64(e)-3))
		c.bar(x, plotTop, 1, plotBottom-plotTop+6, pale)
		c.word(x, plotBottom+24, sheet.Middle, grey, name)
	}
	step := float64(plotRight-plotLeft) / float64(len(counts))
	for i, n := range counts {
		if n > 0 {
			y := up(float64(n))
			c.bar(plotLeft+float64(float64(i)*step)+1, y, step-2, plotBottom-y, blue)
		}
	}
	c.bar(xOf(limit), plotTop, 2, plotBottom-plotTop, red)
	c.word(xOf(limit)+8, plotTop+18, sheet.Start, red, fmt.Sprintf("a whole frame, %.1f ms", limit))
	c.bar(plotLeft, plotBottom, plotRight-plotLeft, 1, black)
	c.word((plotLeft+plotRight)/2, picHigh-22, sheet.Middle, black, "lateness across, frames upwards; both in powers of ten")
	return c.Sheet
}

// Picture returns the histogram as SVG or PNG. Only PNG can give an error.
func (p *Probe) Picture(r *Report, png bool) ([]byte, error) {
	c := p.draw(r)
	if png {
		return c.PNG(dpi)
	}
	return c.SVG(), nil
}
