package sheet

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// raster writes a sheet as pixels.
type raster struct {
	img   *image.RGBA
	scale float64 // pixels a millimetre
	face  *Letters
	pen   *vector.Rasterizer
}

// The resolutions of a PNG in dots an inch. DPI is the default: enough to read a
// landscape page.
const (
	LeastDPI = 50
	DPI      = 150
	MostDPI  = 600
)

// PNG returns the sheet as pixels, LeastDPI..MostDPI of them an inch.
func (s *Sheet) PNG(dpi int) ([]byte, error) {
	if dpi < LeastDPI || dpi > MostDPI {
		return nil, fmt.Errorf("%d dots an inch; a picture can have %d to %d", dpi, LeastDPI, MostDPI)
	}
	var b bytes.Buffer
	err := png.Encode(&b, s.Pixels(dpi))
	return b.Bytes(), err
}

// Pixels returns the sheet as an image of dpi dots an inch.
func (s *Sheet) Pixels(dpi int) *image.RGBA {
	scale := float64(dpi) / 25.4
	r := raster{scale: scale, face: s.Letters, pen: vector.NewRasterizer(1, 1)}
	r.img = image.NewRGBA(image.Rect(0, 0, int(math.Round(s.Paper.W*scale)), int(math.Round(s.Paper.H*scale))))
	for _, m := range s.Marks {
		m.png(&r)
	}
	return r.img
}

func (i Ink) color() color.RGBA {
	r, g, b := i.parts()
	return color.RGBA{r, g, b, 255}
}

// px returns the pixel edge nearest to a place in millimetres.
func (r *raster) px(mm float64) int { return int(math.Round(mm * r.scale)) }

func (r *raster) fill(x0, y0, x1, y1 int, ink Ink) {
	draw.Draw(r.img, image.Rect(x0, y0, x1, y1), image.NewUniform(ink.color()), image.Point{}, draw.Src)
}

func (d rect) png(r *raster) {
	x, y := r.px(d.x), r.px(d.y)
	r.fill(x, y, max(x+1, r.px(d.x+d.w)), max(y+1, r.px(d.y+d.h)), d.fill)
}

func (d line) png(r *raster) {
	wide := max(1, r.px(d.width))
	long := math.Hypot(d.x1-d.x0, d.y1-d.y0)
	piece := 20.0 // millimetres: small enough for the rasteriser's integers
	if d.dash > 0 {
		piece = d.dash
	}
	for i, n := 0, int(math.Ceil(long/piece)); i < n; i++ {
		if d.dash > 0 && i%2 == 1 {
			continue
		}
		a, b := piece*float64(i)/long, min(1, piece*float64(i+1)/long)
		along := func(from, to, t float64) float64 { return float64(from*(1-t)) + float64(to*t) }
		x0, y0, x1, y1 := along(d.x0, d.x1, a), along(d.y0, d.y1, a), along(d.x0, d.x1, b), along(d.y0, d.y1, b)
		switch {
		case d.y0 == d.y1:
			y := r.px(y0) - wide/2
			r.fill(r.px(x0), y, r.px(x1), y+wide, d.ink)
		case d.x0 == d.x1:
			x := r.px(x0) - wide/2
			r.fill(x, min(r.px(y0), r.px(y1)), x+wide, max(r.px(y0), r.px(y1)), d.ink)
		default:
			r.stroke(x0, y0, x1, y1, max(d.width, 1/r.scale), d.ink)
		}
	}
}

// stroke draws a piece of a sloping line.
func (r *raster) stroke(x0, y0, x1, y1, width float64, ink Ink) {
	long := math.Hypot(x1-x0, y1-y0)
	if long == 0 {
		return
	}
	dx, dy := (x1-x0)/long*width/2, (y1-y0)/long*width/2
	r.shape(ink, [][2]float64{
		{x0 - dx - dy, y0 - dy + dx},
		{x1 + dx - dy, y1 + dy + dx},
		{x1 + dx + dy, y1 + dy - dx},
		{x0 - dx + dy, y0 - dy - dx},
	})
}

// shape fills a polygon, with smooth edges.
func (r *raster) shape(ink Ink, at [][2]float64) {
	if len(at) < 3 {
		return
	}
	low, high := at[0], at[0]
	for _, p := range at {
		low = [2]float64{min(low[0], p[0]), min(low[1], p[1])}
		high = [2]float64{max(high[0], p[0]), max(high[1], p[1])}
	}
	x, y := int(math.Floor(low[0]*r.scale)), int(math.Floor(low[1]*r.scale))
	w, h := int(math.Ceil(high[0]*r.scale))-x+1, int(math.Ceil(high[1]*r.scale))-y+1
	r.pen.Reset(w, h)
	for i, p := range at {
		px, py := float32(float64(p[0]*r.scale)-float64(x)), float32(float64(p[1]*r.scale)-float64(y))
		if i == 0 {
			r.pen.MoveTo(px, py)
		} else {
			r.pen.LineTo(px, py)
		}
	}
	r.pen.ClosePath()
	r.pen.Draw(r.img, image.Rect(x, y, x+w, y+h), image.NewUniform(ink.color()), image.Point{})
}

func (d poly) png(r *raster) { r.shape(d.fill, d.at) }

func (d Disc) png(r *raster) {
	ring := func(radius float64, ink Ink) {
		const corners = 32
		at := make([][2]float64, corners)
		for i := range at {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
			at[i] = [2]float64{d.X + float64(radius*cos), d.y + float64(radius*sin)}
		}
		r.shape(ink, at)
	}
	ring(d.R+d.width/2, d.edge)
	ring(d.R-d.width/2, d.fill)
}

func (d Words) png(r *raster) {
	size := math.Round(d.Size*r.scale*8) / 8
	face := r.face.at(size, d.Bold)
	wide := d.Wide * r.scale
	back := [...]float64{0, 0.5, 1}[d.Side] * wide
	dot := func(x, y float64) fixed.Point26_6 {
		return fixed.Point26_6{X: fixed.Int26_6(math.Round(x * 64)), Y: fixed.Int26_6(math.Round(y * 64))}
	}
	if !d.Turned {
		w := font.Drawer{Dst: r.img, Src: image.NewUniform(d.Ink.color()), Face: face}
		w.Dot = dot(float64(d.X*r.scale)-back, math.Round(d.Y*r.scale))
		w.DrawString(d.Text)
		return
	}
	// Draw the text horizontally, then turn it a quarter to the left.
	high := int(math.Ceil(size * 1.5))
	flat := image.NewAlpha(image.Rect(0, 0, int(math.Ceil(wide))+2, high))
	w := font.Drawer{Dst: flat, Src: image.Opaque, Face: face, Dot: dot(0, math.Round(size))}
	w.DrawString(d.Text)
	turned := image.NewAlpha(image.Rect(0, 0, flat.Rect.Dy(), flat.Rect.Dx()))
	for y := range flat.Rect.Dy() {
		for x := range flat.Rect.Dx() {
			turned.SetAlpha(y, flat.Rect.Dx()-1-x, flat.AlphaAt(x, y))
		}
	}
	x := r.px(d.X) - int(math.Round(size))
	y := int(math.Round(float64(d.Y*r.scale)+back)) - turned.Rect.Dy()
	draw.DrawMask(r.img, turned.Rect.Add(image.Pt(x, y)), image.NewUniform(d.Ink.color()), image.Point{}, turned, image.Point{}, draw.Over)
}

func (d Band) png(r *raster) {
	for i := range d.Half {
		x0, x1 := r.px(d.X+float64(d.Step*float64(i))), r.px(d.X+float64(d.Step*float64(i+1)))
		r.column(x0, x1, d.Y, d.Half[i], d.Ink[i], Dim)
	}
}

// column draws one step of a band: light above and below its line, with an edge at
// both ends.
func (r *raster) column(x0, x1 int, y, half float64, fill, edge Ink) {
	if half < hair || x1 <= x0 {
		return
	}
	h, mid := r.px(half), r.px(y)
	if h < 2 { // too thin for an edge
		r.fill(x0, mid-h, x1, mid+h+1, fill)
		return
	}
	r.fill(x0, mid-h, x1, mid+h+1, edge)
	r.fill(x0, mid-h+1, x1, mid+h, fill)
}
