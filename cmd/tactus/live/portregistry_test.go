package live

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/panel"
	"tactus/protocol/midi"
)

func TestPortBook(t *testing.T) {
	var b portRegistry
	b.update(midi.Status{Port: "desk", Number: 1, Up: true})
	b.update(midi.Status{Port: "pads", Number: 0, Up: true})
	b.received(&midi.Message{Port: 1, At: 2 * clock.Second})
	b.received(&midi.Message{Port: maxPorts, At: clock.Second})
	b.update(midi.Status{Port: "pads", Number: 0, Err: errors.New("unplugged")})
	want := []panel.Port{{Name: "pads", Fault: "unplugged", Quiet: -1}, {Name: "desk", Up: true, Quiet: 1.5}}
	assert.Empty(t, cmp.Diff(want, b.list(3500*clock.Millisecond)))
	m := midi.Message{Port: 1}
	assert.Zero(t, testing.AllocsPerRun(100, func() { b.received(&m) }), "allocations for a message")
}
