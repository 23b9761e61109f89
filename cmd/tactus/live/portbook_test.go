package live

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tactus/clock"
	"tactus/panel"
	"tactus/protocol/midi"
)

func TestPortBook(t *testing.T) {
	var b portBook
	b.changed(midi.Status{Port: "desk", Number: 1, Up: true})
	b.changed(midi.Status{Port: "pads", Number: 0, Up: true})
	b.heard(&midi.Message{Port: 1, At: 2 * clock.Second})
	b.heard(&midi.Message{Port: maxPorts, At: clock.Second})
	b.changed(midi.Status{Port: "pads", Number: 0, Err: errors.New("unplugged")})
	want := []panel.Port{{Name: "pads", Fault: "unplugged", Quiet: -1}, {Name: "desk", Up: true, Quiet: 1.5}}
	if d := cmp.Diff(want, b.list(3500*clock.Millisecond)); d != "" {
		t.Error(d)
	}
	m := midi.Message{Port: 1}
	if n := testing.AllocsPerRun(100, func() { b.heard(&m) }); n != 0 {
		t.Errorf("%v allocations for a message", n)
	}
}
