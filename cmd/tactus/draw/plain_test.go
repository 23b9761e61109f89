package draw

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/engine"
)

func TestPlain(t *testing.T) {
	p := harbour(t)
	d := New(p, 0, 0, false)
	s := playing(p, 0, 4, 0)
	s.Pos.At = 187 * clock.Second
	line := func() string { return string(d.Plain(nil, s)) }
	want := "03:07  Lanterns on the Pier · chorus 2, bar 1 beat 1 · 96.0 BPM · midi locked · " +
		"playing · energy 8 · then bridge in 8 bars · wash 25-95 % blue+violet · warmer 40 % warm white · " +
		"front 62 % · house 5 % · haze 35 % fan 50 % · clock: even, beat within 0.4 ms\n"
	assert.Equal(t, want, line())
	start := s.Status.Beat
	steps := []struct {
		name   string
		change func()
		speaks string // what the line holds; empty: silence
	}{
		{"the same again", func() {}, ""},
		{"the next beat", func() { s.Status.Beat = start + quarter }, ""},
		{"another cue's look", func() { s.Status.Look = "lift" }, ""},
		{"the next bar", func() { s.Status.Beat = start + 4*quarter }, "bar 2 beat 1"},
		{"armed", func() { s.Status.Armed, s.Status.ArmedAt = 5, start+8*quarter }, "armed bridge"},
		{"blackout", func() { s.Status.Blackout = true }, "  BLACKOUT · Lanterns"},
		{"and back", func() { s.Status.Blackout = false }, "  Lanterns"},
		{"the clock goes", func() { s.Pos.Sync = clock.Holdover }, "CLOCK LOST"},
		{"nine seconds", func() { s.Pos.At += 9 * clock.Second }, ""},
		{"ten seconds", func() { s.Pos.At += clock.Second }, "03:17  "},
		{"quiet after it", func() { s.Pos.At += clock.Second }, ""},
		{"it comes again, worse", func() { s.Pos.Sync, s.Pos.Err = clock.Locked, 9*clock.Millisecond }, "clock: even, beat within 9 ms"},
		{"notes disagree with it", func() { s.Health.BarOffset = engine.BarOffset{Ticks: -2, Notes: 3, By: -42 * clock.Millisecond} }, "42 ms earlier than counted (3 notes agree): press Align bars"},
		{"the song is left", func() { s.Status.Song, s.Status.Section = engine.None, engine.None }, "no song · look lift"},
		{"another look", func() { s.Status.Look = "doors" }, "look doors"},
	}
	for _, step := range steps {
		step.change()
		got := line()
		if step.speaks == "" {
			assert.Empty(t, got, step.name)
		}
		assert.Contains(t, got, step.speaks, step.name)
		assert.NotContains(t, got, "\x1b", "%s: more than a line of text", step.name)
		assert.LessOrEqual(t, strings.Count(got, "\n"), 1, "%s: more than a line of text", step.name)
	}
}

func TestTime(t *testing.T) {
	for at, want := range map[clock.Time]string{
		0: "00:00", 61*clock.Second + 1: "01:01", 75 * 60 * clock.Second: "75:00", 601 * clock.Second: "10:01",
	} {
		assert.Equal(t, want, string(appendTime(nil, at)))
	}
}

func TestPlainObeysNoName(t *testing.T) {
	p := harbour(t)
	p.Songs[0].Name = "Pier\x1b[2J\n\u009b1m ·é"
	got := string(New(p, 0, 0, false).Plain(nil, playing(p, 0, 4, 0)))
	assert.True(t, strings.HasPrefix(got, "03:07  Pier?[2J???1m ·é · chorus 2"), "have %q", got)
	assert.Equal(t, 1, strings.Count(got, "\n"), "have %q", got)
}
