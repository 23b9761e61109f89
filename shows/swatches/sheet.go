package swatches

import (
	"fmt"
	"io"
	"math"

	"tactus/fixtures"
	"tactus/shows/sheet"
)

// Measures of the sheet in pixels, at swatchDPI. Swatches of a row touch, for a
// difference shows best at an edge.
const (
	sheetEdge  = 28
	sheetHead  = 112
	sheetName  = 250
	swatchWide = 150
	swatchHigh = 46
	swatchGap  = 6
	swatchDPI  = 96
)

func millimetres(pixels int) float64 { return float64(pixels) * 25.4 / swatchDPI }

// swatchSheet is a sheet that is drawn on in pixels.
type swatchSheet struct{ *sheet.Sheet }

// WritePNG writes a sheet of swatches as PNG: a row for each colour, the colour asked
// for first, then what each type shows, with its ΔE00. Errors are those of w.
func (t *Table) WritePNG(w io.Writer) error {
	wide := 2*sheetEdge + sheetName + swatchWide*(len(t.Kinds)+1)
	high := sheetHead + len(t.Colours)*(swatchHigh+swatchGap) + sheetEdge
	d := swatchSheet{sheet.New(sheet.Paper{W: millimetres(wide), H: millimetres(high)}, t.title, "")}
	const light, faint = 0xdcdcdc, 0x969696
	d.fill(0, 0, wide, high, 0x181818)
	d.Bold(millimetres(sheetEdge), millimetres(40), millimetres(20), sheet.Start, light, t.title)
	d.label(faint, sheetEdge, 64, "calculated: the colour asked for, and what each fixture type makes of it in 8 bits, with ΔE00")
	for i := -1; i < len(t.Kinds); i++ {
		name := "target"
		if i >= 0 {
			name = t.Kinds[i].Name
		}
		d.Bold(millimetres(swatchLeft(i+1)+8), millimetres(sheetHead-10), millimetres(14), sheet.Start, light, name)
	}
	for row, c := range t.Colours {
		y := sheetHead + row*(swatchHigh+swatchGap)
		d.label(light, sheetEdge, y+29, c.Name)
		d.swatch(swatchLeft(0), y, c.RGB, c.RGB.Hex())
		for i := range t.Kinds {
			shown, _, deltaE := t.Kinds[i].Match(c)
			text := fmt.Sprintf("%.2f", deltaE)
			if gain := t.Kinds[i].Gain(c); gain > 1 {
				text += fmt.Sprintf("  ×%.1f", gain)
			}
			d.swatch(swatchLeft(i+1), y, shown, text)
		}
	}
	b, err := d.PNG(swatchDPI)
	if err == nil {
		_, err = w.Write(b)
	}
	return err
}

func swatchLeft(column int) int { return sheetEdge + sheetName + column*swatchWide }

func (d swatchSheet) fill(x, y, wide, high int, ink sheet.Ink) {
	d.Rect(millimetres(x), millimetres(y), millimetres(wide), millimetres(high), ink)
}

func (d swatchSheet) label(ink sheet.Ink, x, y int, text string) {
	d.Words(millimetres(x), millimetres(y), millimetres(15), sheet.Start, ink, text)
}

// swatch fills a rectangle and writes over it in black or white, whichever can
// be read.
func (d swatchSheet) swatch(x, y int, c fixtures.RGB, text string) {
	byteOf := func(v float64) sheet.Ink { return sheet.Ink(uint8(math.Round(fixtures.EncodeSRGB(v) * 255))) }
	d.fill(x, y, swatchWide, swatchHigh, byteOf(c[0])<<16|byteOf(c[1])<<8|byteOf(c[2]))
	ink := sheet.White
	if c.XYZ()[1] > 0.2 {
		ink = sheet.Black
	}
	d.label(ink, x+8, y+29, text)
}
