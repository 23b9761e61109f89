package realtime

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
		got       Grant
		ask       bool
		want, not string
	}{
		{Grant{priority: "real-time priority 20", memory: true}, true, "real-time priority 20, memory locked", "remedy"},
		{Grant{priority: "a time constraint", noMemory: true}, true, `"a time constraint"`, "remedy"},
		{Grant{priority: "real-time priority 20", Remedy: "do this"}, true, "memory not locked\",\"remedy\":\"do this", "in real time"},
		{Grant{Remedy: "do this"}, true, "no real-time priority, memory not locked", "in real time"},
		{Grant{}, false, "as asked", "remedy"},
	} {
		var out bytes.Buffer
		r := NewThread(clock.NewBase(), c.ask, zerolog.New(&out))
		r.Got = c.got
		r.tell()
		if text := out.String(); strings.Count(text, "\n") != 1 || !strings.Contains(text, c.want) || strings.Contains(text, c.not) {
			t.Errorf("%+v: %s", c.got, text)
		}
	}
}

// What the loop returns is handed on, and its thread was asked for whatever the
// system gives.
func TestRealTimeRuns(t *testing.T) {
	r := NewThread(clock.NewBase(), true, zerolog.Nop())
	want := errors.New("over")
	if err := r.Run(func() error { return want }); !errors.Is(err, want) {
		t.Errorf("%v, want %v", err, want)
	}
	if !r.Got.Whole() && r.Got.Remedy == "" {
		t.Errorf("%+v: refused, and no remedy", r.Got)
	}
}
