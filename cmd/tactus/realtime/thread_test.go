package realtime

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"

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
		r.logGrant()
		text := out.String()
		assert.Equal(t, 1, strings.Count(text, "\n"), c.got)
		assert.Contains(t, text, c.want, c.got)
		assert.NotContains(t, text, c.not, c.got)
	}
}

// What the loop returns is handed on, and its thread was asked for whatever the
// system gives.
func TestRealTimeRuns(t *testing.T) {
	r := NewThread(clock.NewBase(), true, zerolog.Nop())
	want := errors.New("over")
	assert.ErrorIs(t, r.Run(func() error { return want }), want)
	if !r.Got.Whole() {
		assert.NotEmpty(t, r.Got.Remedy, "refused, and no remedy")
	}
}
