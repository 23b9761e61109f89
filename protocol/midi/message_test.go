package midi_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	gomidi "gitlab.com/gomidi/midi/v2"

	"tactus/clock"
	"tactus/protocol/midi"
)

func message(b ...byte) midi.Message {
	m := midi.Message{At: 7, Port: 3, Len: uint8(len(b))}
	copy(m.Bytes[:], b)
	return m
}

// The library's accessors are the oracle for every status octet.
func TestMessageAgainstLibrary(t *testing.T) {
	for status := 0x80; status < 0xF0; status++ {
		for _, data := range [][2]byte{{0, 0}, {60, 0}, {60, 1}, {127, 127}, {5, 64}} {
			b := []byte{byte(status), data[0], data[1]}
			if status >= 0xC0 && status < 0xE0 {
				b = b[:2]
			}
			m, lib := message(b...), gomidi.Message(b)
			var ch, key, vel uint8
			assert.True(t, lib.GetChannel(&ch), "% X, library has %d from 0", b, ch)
			assert.Equal(t, ch+1, m.Channel(), "% X, library has %d from 0", b, ch)
			isOn, isOff := lib.GetNoteStart(&ch, &key, &vel), lib.GetNoteEnd(&ch, &key)
			assert.Equal(t, isOn, m.Kind() == midi.NoteOn, "% X: %v", b, m.Kind())
			assert.Equal(t, isOff, m.Kind() == midi.NoteOff, "% X: %v", b, m.Kind())
			if isOn {
				assert.Equal(t, key, m.Note(), "% X", b)
				assert.Equal(t, vel, m.Velocity(), "% X", b)
			}
			assert.Equal(t, m.Kind() == midi.ProgramChange, lib.GetProgramChange(&ch, &key), "% X: %v program", b, m.Kind())
			if m.Kind() == midi.ProgramChange {
				assert.Equal(t, key, m.Program(), "% X: %v program", b, m.Kind())
			}
			assert.Equal(t, m.Kind() == midi.ControlChange, lib.GetControlChange(&ch, &key, &vel), "% X: %v", b, m.Kind())
			if m.Kind() == midi.ControlChange {
				assert.Equal(t, key, m.Controller(), "% X: %v", b, m.Kind())
				assert.Equal(t, vel, m.Value(), "% X: %v", b, m.Kind())
			}
		}
	}
}

func TestMessageKinds(t *testing.T) {
	for _, c := range []struct {
		m    midi.Message
		want midi.Kind
	}{
		{message(), midi.Lost},
		{message(0x80, 1, 2), midi.NoteOff},
		{message(0x90, 1, 2), midi.NoteOn},
		{message(0x90, 1, 0), midi.NoteOff},
		{message(0xA0, 1, 2), midi.PolyPressure},
		{message(0xB0, 1, 2), midi.ControlChange},
		{message(0xC0, 1), midi.ProgramChange},
		{message(0xD0, 1), midi.ChannelPressure},
		{message(0xE0, 1, 2), midi.PitchBend},
		{message(0xF1, 1), midi.TimeCode},
		{message(0xF2, 1, 2), midi.SongPosition},
		{message(0xF3, 1), midi.SongSelect},
		{message(0xF6), midi.TuneRequest},
		{message(0xF8), midi.Tick},
		{message(0xF9), midi.Undefined},
		{message(0xFA), midi.Start},
		{message(0xFB), midi.Continue},
		{message(0xFC), midi.Stop},
		{message(0xFD), midi.Undefined},
		{message(0xFE), midi.ActiveSensing},
		{message(0xFF), midi.SystemReset},
		{message(0x12), midi.Undefined},
	} {
		assert.Equal(t, c.want, c.m.Kind(), "% X", c.m.Bytes[:c.m.Len])
	}
	assert.Equal(t, "tick", midi.Tick.String())
	assert.Equal(t, "undefined", midi.Kind(200).String())
	assert.Zero(t, message(0xF8).Channel()+message().Channel(), "channel of a system message")
}

// Source: MIDI 1.0, song position: 14 bit, least significant first, in
// sixteenths; the worked values are in midi-stream.csv.
func TestMessageClock(t *testing.T) {
	for _, c := range []struct {
		m    midi.Message
		want clock.Event
	}{
		{message(0xF8), clock.Event{At: 7, Kind: clock.Tick24}},
		{message(0xFA), clock.Event{At: 7, Kind: clock.Start}},
		{message(0xFB), clock.Event{At: 7, Kind: clock.Continue}},
		{message(0xFC), clock.Event{At: 7, Kind: clock.Stop}},
		{message(0xF2, 8, 0), clock.Event{At: 7, Kind: clock.Locate, Sixteenths: 8}},
		{message(0xF2, 0, 1), clock.Event{At: 7, Kind: clock.Locate, Sixteenths: 128}},
		{message(0xF2, 0x7F, 0x7F), clock.Event{At: 7, Kind: clock.Locate, Sixteenths: 16383}},
		{message(), clock.Event{At: 7, Kind: clock.Lost}},
	} {
		got, ok := c.m.ClockEvent()
		assert.True(t, ok, "% X", c.m.Bytes)
		assert.Equal(t, c.want, got, "% X", c.m.Bytes)
	}
	for _, m := range []midi.Message{message(0x90, 1, 2), message(0xFE), message(0xF9), message(0xFF), message(0xF1, 3)} {
		e, ok := m.ClockEvent()
		assert.False(t, ok, "% X is no clock event, have %+v", m.Bytes, e)
	}
}

// A full inbox gives up note-ons first, then other channel messages, and
// keeps the rest of its room for the clock.
func TestInboxKeepsClock(t *testing.T) {
	in := midi.NewInbox(clock.Base{}, 100, nil)
	fill := func(m midi.Message) int {
		for range 200 {
			in.Put(m)
		}
		return len(in.Messages())
	}
	got := []int{fill(message(0x90, 1, 1)), fill(message(0x80, 1, 0)), fill(message(0xF8))}
	assert.Equal(t, 50, got[0], "room for note on, note off, clock")
	assert.Equal(t, 75, got[1], "room for note on, note off, clock")
	assert.Equal(t, 100, got[2], "room for note on, note off, clock")
	assert.EqualValues(t, 600-100, in.Dropped(), "dropped")
	assert.Zero(t, testing.AllocsPerRun(100, func() { in.Put(message(0xF8)) }))
}
