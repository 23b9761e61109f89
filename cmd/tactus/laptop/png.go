package laptop

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// pixels is a canvas of them.
type pixels struct {
	img  *image.RGBA
	face font.Face
}

func ink(colour uint32) *image.Uniform {
	return image.NewUniform(color.RGBA{uint8(colour >> 16), uint8(colour >> 8), uint8(colour), 255})
}

func (p *pixels) bar(x, y, wide, high float64, colour uint32) {
	at := image.Rect(int(x), int(y), int(x+wide+0.5), int(y+high+0.5))
	draw.Draw(p.img, at, ink(colour), image.Point{}, draw.Src)
}

func (p *pixels) word(x, y float64, anchor int, colour uint32, text string) {
	d := font.Drawer{Dst: p.img, Src: ink(colour), Face: p.face}
	back := d.MeasureString(text) * fixed.Int26_6(anchor) / 2
	d.Dot = fixed.P(int(x), int(y))
	d.Dot.X -= back
	d.DrawString(text)
}

// WritePNG writes the histogram as PNG; limit is a frame's length in
// milliseconds. Errors are those of w.
func (p *Probe) WritePNG(w io.Writer, r *Report, limit float64) error {
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return err
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: 15, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return err
	}
	c := &pixels{image.NewRGBA(image.Rect(0, 0, picWide, picHigh)), face}
	p.draw(c, r, limit)
	return png.Encode(w, c.img)
}
