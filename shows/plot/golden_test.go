package plot_test

import (
	"bytes"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/plot"
	"tactus/shows/sheet"
)

var update = flag.Bool("update", false, "draw the pictures in testdata again; look at them")

// sheets are the pictures that are kept.
func sheets(t *testing.T) map[string]*sheet.Sheet {
	n := small()
	return map[string]*sheet.Sheet{
		"song": plot.Score(n, 0, sheet.Papers()[0]), "empty": plot.Score(n, 1, sheet.Papers()[1]),
		"night": plot.Overview(n, sheet.Papers()[0]), "stage": plot.Stage(smallStage(t), sheet.Papers()[0]),
	}
}

// TestGoldenPictures holds both formats to the letter and to the pixel, on
// every processor.
func TestGoldenPictures(t *testing.T) {
	for name, s := range sheets(t) {
		golden(t, name+".svg", s.SVG())
		src, err := s.PNG(sheet.LeastDPI)
		require.NoError(t, err)
		golden(t, name+".png", src)
	}
}

func golden(t *testing.T, name string, have []byte) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(file, have, 0o644))
		return
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	if filepath.Ext(name) == ".png" {
		have, want = pixels(t, have), pixels(t, want)
	}
	assert.Equal(t, string(want), string(have), "%s has changed; -update draws it again: look at it", name)
}

// pixels unpacks, so that another compressor is no other picture.
func pixels(t *testing.T, src []byte) []byte {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(src))
	require.NoError(t, err)
	var out []byte
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, g, b, a := img.At(x, y).RGBA()
			out = append(out, byte(r>>8), byte(g>>8), byte(b>>8), byte(a>>8))
		}
	}
	return out
}
