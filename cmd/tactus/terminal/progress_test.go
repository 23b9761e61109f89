package terminal_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/cmd/tactus/terminal"
)

// What a log gets to see of long work: a line every two seconds, and its end.
func TestPlainProgressGolden(t *testing.T) {
	var out strings.Builder
	now := clock.Time(0)
	p := terminal.NewProgress(&out, "measuring songs", 12, func() clock.Time { return now })
	for range 12 {
		now += 700 * clock.Millisecond
		p.Step(1)
	}
	p.Done()
	want := "measuring songs: 25 %\nmeasuring songs: 50 %\nmeasuring songs: 75 %\nmeasuring songs: 100 %\n"
	assert.Equal(t, want, out.String())
	out.Reset()
	p = terminal.NewProgress(&out, "printing", 60, func() clock.Time { return now })
	for range 60 {
		p.Step(1)
	}
	p.Done()
	assert.Zero(t, out.Len(), "short work said")
	p = terminal.NewProgress(&out, "printing", 4, func() clock.Time { return now })
	now += 2 * clock.Second
	p.Step(1)
	p.Done()
	assert.Equal(t, "printing: 25 %\nprinting: stopped at 25 %\n", out.String())
	p = nil
	p.Step(1)
	p.Done()
}

// Of work that takes hours a percent takes minutes: tenths show that it goes on.
func TestProgressOfLongWorkMoves(t *testing.T) {
	var out strings.Builder
	now := clock.Time(0)
	p := terminal.NewProgress(&out, "measuring songs", 160_000, func() clock.Time { return now })
	for range 3 {
		now += 3 * clock.Second
		p.Step(400)
	}
	p.Done()
	assert.Equal(t, "measuring songs: 0.2 %\nmeasuring songs: 0.5 %\nmeasuring songs: 0.7 %\nmeasuring songs: stopped at 0.7 %\n", out.String())
}
