package main

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"tactus/clock"
)

// What was got is told in exactly one line, with a remedy where something was
// refused.
func TestRealTimeTells(t *testing.T) {
	for _, c := range []struct {
		got       grant
		ask       bool
		want, not string
	}{
		{grant{priority: "real-time priority 20", memory: true}, true, "real-time priority 20, memory locked", "remedy"},
		{grant{priority: "a time constraint", noMemory: true}, true, `"a time constraint"`, "remedy"},
		{grant{priority: "real-time priority 20", remedy: "do this"}, true, "memory not locked\",\"remedy\":\"do this", "in real time"},
		{grant{remedy: "do this"}, true, "no real-time priority, memory not locked", "in real time"},
		{grant{}, false, "as asked", "remedy"},
	} {
		var out bytes.Buffer
		r := newRealTime(clock.NewBase(), c.ask, zerolog.New(&out))
		r.got = c.got
		r.tell()
		if text := out.String(); strings.Count(text, "\n") != 1 || !strings.Contains(text, c.want) || strings.Contains(text, c.not) {
			t.Errorf("%+v: %s", c.got, text)
		}
	}
}

// What the loop returns is handed on, and its thread was asked for whatever the
// system gives.
func TestRealTimeRuns(t *testing.T) {
	r := newRealTime(clock.NewBase(), true, zerolog.Nop())
	want := errors.New("over")
	if err := r.run(func() error { return want }); !errors.Is(err, want) {
		t.Errorf("%v, want %v", err, want)
	}
	if !r.got.whole() && r.got.remedy == "" {
		t.Errorf("%+v: refused, and no remedy", r.got)
	}
}
