package laptop_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/laptop"
)

// The picture is XML, has a bar for each step that was met, and its numbers.
func TestPictureAsSVG(t *testing.T) {
	p := laptop.NewProbe()
	for range 100 {
		p.FrameWoke(0, 60*clock.Microsecond)
	}
	p.FrameWoke(0, 3*clock.Millisecond)
	r := laptop.Judge(good(), laptop.Facts{})
	src, err := p.Picture(&r, false)
	require.NoError(t, err)
	text := string(src)
	assert.Equal(t, 2, strings.Count(text, "#2266aa"))
	assert.Contains(t, text, "p99 0.200 ms")
	assert.Contains(t, text, "is fit<")
	for d := xml.NewDecoder(bytes.NewReader(src)); ; {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
	}
}
