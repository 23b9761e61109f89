package live

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/midi"
)

func message(port uint8, bytes ...byte) midi.Message {
	m := midi.Message{At: 5, Port: port, Len: uint8(len(bytes))}
	copy(m.Bytes[:], bytes)
	return m
}

func TestTranslator(t *testing.T) {
	n := engine.NewNotes()
	n.Fire, n.Arm, n.Control, n.Tap = 1, [4]uint8{2, 3, 4}, 16, 104
	n.Controls[96] = engine.Hold
	n.ByProgram[2] = 1
	n.Faders[21] = 3
	tr := Translator{Notes: &n}
	cases := []struct {
		name string
		m    midi.Message
		want engine.Input
		ok   bool
	}{
		{"clock", message(0, 0xF8), engine.Input{Event: clock.Event{At: 5, Kind: clock.Tick24}}, true},
		{"song position", message(0, 0xF2, 8, 0), engine.Input{Event: clock.Event{At: 5, Kind: clock.Locate, Sixteenths: 8}}, true},
		{"clock of a second port", message(1, 0xF8), engine.Input{Event: clock.Event{At: 5, Kind: clock.Tick24}}, false},
		{"fire", message(0, 0x90, 36, 100), engine.Input{At: 5, Command: engine.Command{Kind: engine.FireNote, Index: 36}}, true},
		{"fire from a second port", message(1, 0x90, 36, 100), engine.Input{Command: engine.Command{Kind: engine.FireNote, Index: 36}}, true},
		{"note off", message(0, 0x80, 36, 0), engine.Input{}, false},
		{"note on with velocity 0 is note off", message(0, 0x90, 36, 0), engine.Input{}, false},
		{"arm at bar", message(0, 0x92, 36, 1), engine.Input{Command: engine.Command{Kind: engine.ArmNote, When: engine.NextBar, Index: 36}}, true},
		{"hold", message(0, 0x9F, 96, 1), engine.Input{Command: engine.Command{Kind: engine.Hold}}, true},
		{"hold's note on another channel", message(0, 0x95, 96, 1), engine.Input{}, false},
		{"tap", message(0, 0x9F, 104, 1), engine.Input{Event: clock.Event{At: 5, Kind: clock.Tap}}, true},
		{"program", message(0, 0xCF, 2), engine.Input{Command: engine.Command{Kind: engine.SelectByProgram, Index: 1}}, true},
		{"a program that selects nothing", message(0, 0xCF, 9), engine.Input{}, false},
		{"a group's fader", message(0, 0xBF, 21, 127), engine.Input{Command: engine.Command{Kind: engine.GroupMaster, Index: 3, Level: 1, Over: 50 * clock.Millisecond}}, true},
		{"a controller that moves nothing", message(0, 0xBF, 7, 127), engine.Input{}, false},
		{"port lost", midi.Message{At: 5}, engine.Input{Event: clock.Event{At: 5, Kind: clock.Lost}}, true},
	}
	for _, c := range cases {
		got, ok := tr.Input(c.m)
		assert.Equal(t, c.ok, ok, c.name)
		if ok {
			assert.Equal(t, c.want, got, c.name)
		}
	}
}

// A loop that does not read never makes the pump wait; what has no room is
// counted.
func TestPumpDropsRatherThanWaits(t *testing.T) {
	n := engine.NewNotes()
	tr := Translator{Notes: &n}
	from, to := make(chan midi.Message), make(chan engine.Input, 2)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { tr.pump(ctx, from, nil, to, nil); close(done) }()
	for range 5 {
		from <- message(0, 0xF8)
	}
	cancel()
	<-done
	assert.Len(t, to, 2)
	assert.EqualValues(t, 3, tr.dropped.Load())
}

// A flood of another port fills a queue of its own: the clock's port keeps its room.
func TestFloodOfAnotherPortLeavesTheClocksQueue(t *testing.T) {
	n := engine.NewNotes()
	n.Fire = 1
	tr := Translator{Notes: &n}
	clocks, pads := make(chan midi.Message), make(chan midi.Message)
	to, padsTo := make(chan engine.Input, 2), make(chan engine.Input, 2)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { tr.pump(ctx, clocks, pads, to, padsTo); close(done) }()
	for range 100 {
		pads <- message(1, 0x90, 36, 100)
	}
	clocks <- message(0, 0xF8)
	clocks <- message(0, 0x90, 40, 100)
	cancel()
	<-done
	assert.Len(t, to, 2)
	assert.Len(t, padsTo, 2)
	assert.EqualValues(t, 98, tr.dropped.Load())
}
