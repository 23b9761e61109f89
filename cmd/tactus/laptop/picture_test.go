package laptop

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
)

// Wakes lie in the step of the axis that they belong to, and none is lost.
func TestCounts(t *testing.T) {
	p := NewProbe()
	for _, late := range []clock.Time{0, clock.Microsecond, 1050 * clock.Microsecond, 2 * clock.Second} {
		p.Woke(0, late)
	}
	n := p.histogram()
	assert.EqualValues(t, 2, n[0])
	assert.EqualValues(t, 1, n[3*decadeSteps])
	assert.EqualValues(t, 1, n[len(n)-1])
}

// The picture is XML, has a bar for each step that was met, and its numbers.
func TestPictureAsSVG(t *testing.T) {
	p := NewProbe()
	for range 100 {
		p.Woke(0, 60*clock.Microsecond)
	}
	p.Woke(0, 3*clock.Millisecond)
	r := Judge(good(), Facts{})
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
