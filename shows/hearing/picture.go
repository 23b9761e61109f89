package hearing

import (
	"fmt"

	"tactus/clock"
	"tactus/shows/language"
	"tactus/shows/sheet"
)

// Places on the picture, in millimetres.
const (
	edge      = 12.0
	waveHigh  = 26.0
	blockHigh = 70.0
)

// Picture draws what was heard: the loudness as it goes, the bars, and the sections as high
// as their energy. Sections of one group have one shade and letter.
func (t *Take) Picture(h *Heard, name string) *sheet.Sheet {
	paper := sheet.Papers()[0]
	first := h.Readings[0]
	about := fmt.Sprintf("%s: %s, %d/%d at %s", name, language.Count(len(h.Sections), "section"), first.Upper, first.Lower, h.TempoWords())
	s := sheet.New(paper, "Heard: "+name, about)
	wide := paper.W - 2*edge
	x := func(seconds float64) float64 { return edge + wide*seconds/t.Seconds }
	s.Bold(edge, edge+6, 6, sheet.Start, sheet.Black, s.Fits(name, 6, wide, true))
	s.Words(edge, edge+12, 3, sheet.Start, sheet.Dim, s.Fits(about[len(name)+2:], 3, wide, false))
	t.drawLoudness(s, x, edge+18)
	base := edge + 18 + waveHigh + 16 + blockHigh
	for e := 0; e <= 10; e += 2 {
		y := base - blockHigh*float64(e)/10
		s.Line(edge, y, paper.W-edge, y, 0.1, sheet.Fine)
		s.Words(edge-2, y+1, 2.5, sheet.End, sheet.Dim, fmt.Sprint(e))
	}
	for i := range h.Sections {
		h.drawSection(s, i, x, base)
	}
	for i, line := range h.Lines {
		long := 1.2
		if i%4 == 0 {
			long = 2.4
			s.Words(x(line), base+6, 2.2, sheet.Middle, sheet.Dim, fmt.Sprint(i+1))
		}
		s.Line(x(line), base, x(line), base+long, 0.15, sheet.Black)
	}
	s.Words(edge, paper.H-edge, 2.5, sheet.Start, sheet.Dim,
		"above: short-term loudness (ITU-R BS.1770-4).  below: bars, and sections as high as their energy; the same letter is the same music. Names and energies are guesses.")
	return s
}

// drawLoudness draws short-term loudness: 40 LU under the loudest are as high as the room.
func (t *Take) drawLoudness(s *sheet.Sheet, x func(float64) float64, top float64) {
	list := t.loud.ShortTerm()
	most := loudest(list)
	s.Words(edge-2, top+2, 2.5, sheet.End, sheet.Dim, fmt.Sprintf("%.0f", most))
	for i, v := range list {
		at := 0.1*float64(i) + 1.5 // the middle of the 3 s
		high := waveHigh * min(1, max(0, 1+(v-most)/40))
		s.Rect(x(at), top+waveHigh-high, max(0.1, x(at+0.1)-x(at)), high, sheet.Strong)
	}
}

func loudest(list []float64) float64 {
	most := -120.0
	for _, v := range list {
		most = max(most, v)
	}
	return most
}

func (h *Heard) drawSection(s *sheet.Sheet, i int, x func(float64) float64, base float64) {
	c := &h.Sections[i]
	from, to := x(h.Lines[c.First]), x(h.Lines[c.First+c.Bars])
	high := blockHigh * c.Energy / 10
	shades := []sheet.Ink{0xc4c4c4, 0x9a9a9a, 0xdcdcdc, 0xb0b0b0, 0x878787, 0xd0d0d0}
	s.Rect(from, base-high, to-from-0.4, high, shades[c.Group%len(shades)])
	s.Bold(from+1, base-2, 3, sheet.Start, sheet.Black, s.Fits(string(rune('A'+c.Group%26)), 3, to-from-2, true))
	s.Words(from+0.5, base-blockHigh-4, 2.8, sheet.Start, sheet.Black, s.Fits(h.Name(i), 2.8, to-from-1, false))
	s.Words(from+0.5, base-blockHigh-0.5, 2.3, sheet.Start, sheet.Dim, s.Fits(language.Minutes(clock.Time(h.Lines[c.First]*float64(clock.Second))), 2.3, to-from-1, false))
}
