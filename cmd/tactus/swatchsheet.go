package main

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	point "golang.org/x/image/math/fixed"

	"tactus/fixtures"
)

// Measures of the sheet in pixels. Swatches of a row touch, for a difference
// shows best at an edge.
const (
	sheetEdge  = 28
	sheetHead  = 112
	sheetName  = 250
	swatchWide = 150
	swatchHigh = 46
	swatchGap  = 6
)

// draw writes the sheet as PNG: a row a colour, the target first, then what each
// type shows, with its ΔE00.
func (s *swatches) draw(w io.Writer) error {
	plain, err := face(goregular.TTF, 15)
	if err != nil {
		return err
	}
	bold, err := face(gobold.TTF, 20)
	if err != nil {
		return err
	}
	small, err := face(gobold.TTF, 14)
	if err != nil {
		return err
	}
	wide := 2*sheetEdge + sheetName + swatchWide*(len(s.kinds)+1)
	high := sheetHead + len(s.colour)*(swatchHigh+swatchGap) + sheetEdge
	img := image.NewNRGBA(image.Rect(0, 0, wide, high))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.Gray{24}), image.Point{}, draw.Src)
	light := color.Gray{220}
	label(img, bold, light, sheetEdge, 40, s.title)
	label(img, plain, color.Gray{150}, sheetEdge, 64, "calculated: the colour asked for, and what each fixture type makes of it in 8 bits, with ΔE00")
	for i := -1; i < len(s.kinds); i++ {
		name := "target"
		if i >= 0 {
			name = s.kinds[i].name
		}
		label(img, small, light, swatchLeft(i+1)+8, sheetHead-10, name)
	}
	for row, c := range s.colour {
		y := sheetHead + row*(swatchHigh+swatchGap)
		label(img, plain, light, sheetEdge, y+29, c.name)
		swatch(img, plain, swatchLeft(0), y, c.rgb, c.rgb.Hex())
		for i := range s.kinds {
			shown, _, deltaE := s.kinds[i].match(c.rgb)
			swatch(img, plain, swatchLeft(i+1), y, shown, fmt.Sprintf("%.2f", deltaE))
		}
	}
	return png.Encode(w, img)
}

func swatchLeft(column int) int { return sheetEdge + sheetName + column*swatchWide }

func face(ttf []byte, size float64) (font.Face, error) {
	f, err := opentype.Parse(ttf)
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
}

// swatch fills a rectangle and writes over it in black or white, whichever can
// be read.
func swatch(img *image.NRGBA, f font.Face, x, y int, c fixtures.RGB, text string) {
	byteOf := func(v float64) uint8 { return uint8(math.Round(fixtures.EncodeSRGB(v) * 255)) }
	fill := color.NRGBA{byteOf(c[0]), byteOf(c[1]), byteOf(c[2]), 255}
	draw.Draw(img, image.Rect(x, y, x+swatchWide, y+swatchHigh), image.NewUniform(fill), image.Point{}, draw.Src)
	var ink color.Color = color.White
	if c.XYZ()[1] > 0.2 {
		ink = color.Black
	}
	label(img, f, ink, x+8, y+29, text)
}

func label(img *image.NRGBA, f font.Face, ink color.Color, x, y int, text string) {
	d := font.Drawer{Dst: img, Src: image.NewUniform(ink), Face: f, Dot: point.P(x, y)}
	d.DrawString(text)
}
