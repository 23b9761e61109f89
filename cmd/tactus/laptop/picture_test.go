package laptop

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"tactus/clock"
)

// Wakes lie in the step of the axis that they belong to, and none is lost.
func TestCounts(t *testing.T) {
	p := NewProbe()
	for _, late := range []clock.Time{0, clock.Microsecond, 1050 * clock.Microsecond, 2 * clock.Second} {
		p.Woke(0, late)
	}
	n := p.counts()
	if n[0] != 2 || n[3*steps] != 1 || n[len(n)-1] != 1 {
		t.Errorf("%v: want 2 at 1 µs, 1 at 1 ms, 1 at the end", n)
	}
}

// The picture is XML, has a bar for each step that was met, and its numbers.
func TestWriteSVG(t *testing.T) {
	p := NewProbe()
	for range 100 {
		p.Woke(0, 60*clock.Microsecond)
	}
	p.Woke(0, 3*clock.Millisecond)
	r := Judge(good(), Facts{})
	var b bytes.Buffer
	if err := p.WriteSVG(&b, &r, 22.7); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	if strings.Count(text, "#2266aa") != 2 || !strings.Contains(text, "p99 0.200 ms") || !strings.Contains(text, "is fit<") {
		t.Error(text)
	}
	for d := xml.NewDecoder(&b); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
}
