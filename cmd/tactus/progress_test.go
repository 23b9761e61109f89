package main

import (
	"strings"
	"testing"

	"tactus/clock"
)

// What a log gets to see of long work: a line every two seconds, and its end.
func TestPlainProgressGolden(t *testing.T) {
	var out strings.Builder
	now := clock.Time(0)
	p := newProgress(&out, "measuring songs", 12, func() clock.Time { return now })
	for range 12 {
		now += 700 * clock.Millisecond
		p.step(1)
	}
	p.done()
	want := "measuring songs: 25 %\nmeasuring songs: 50 %\nmeasuring songs: 75 %\nmeasuring songs: 100 %\n"
	if out.String() != want {
		t.Errorf("%q, want %q", out.String(), want)
	}
	out.Reset()
	p = newProgress(&out, "printing", 60, func() clock.Time { return now })
	for range 60 {
		p.step(1)
	}
	if p.done(); out.Len() != 0 {
		t.Errorf("short work said %q", out.String())
	}
	p = newProgress(&out, "printing", 4, func() clock.Time { return now })
	now += between
	p.step(1)
	p.done()
	if want := "printing: 25 %\nprinting: stopped at 25 %\n"; out.String() != want {
		t.Errorf("%q, want %q", out.String(), want)
	}
	p = nil
	p.step(1)
	p.done()
}
