package midi

import (
	"fmt"
	"strings"
	"testing"

	gomidi "gitlab.com/gomidi/midi/v2"

	"tactus/clock"
)

func message(b ...byte) Message {
	m := Message{At: 7, Port: 3, Len: uint8(len(b))}
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
			if !lib.GetChannel(&ch) || m.Channel() != ch+1 {
				t.Errorf("% X: channel %d, library has %d from 0", b, m.Channel(), ch)
			}
			isOn, isOff := lib.GetNoteStart(&ch, &key, &vel), lib.GetNoteEnd(&ch, &key)
			if (m.Kind() == NoteOn) != isOn || (m.Kind() == NoteOff) != isOff {
				t.Errorf("% X: %v, library has start %v end %v", b, m.Kind(), isOn, isOff)
			}
			if isOn && (m.Note() != key || m.Velocity() != vel) {
				t.Errorf("% X: note %d velocity %d, library has %d and %d", b, m.Note(), m.Velocity(), key, vel)
			}
			if lib.GetProgramChange(&ch, &key) != (m.Kind() == ProgramChange) || m.Kind() == ProgramChange && m.Program() != key {
				t.Errorf("% X: %v program %d, library has %d", b, m.Kind(), m.Program(), key)
			}
			if lib.GetControlChange(&ch, &key, &vel) != (m.Kind() == ControlChange) ||
				m.Kind() == ControlChange && (m.Controller() != key || m.Value() != vel) {
				t.Errorf("% X: %v %d %d, library has %d %d", b, m.Kind(), m.Controller(), m.Value(), key, vel)
			}
		}
	}
}

func TestMessageKinds(t *testing.T) {
	for _, c := range []struct {
		m    Message
		want Kind
	}{
		{message(), Lost},
		{message(0x80, 1, 2), NoteOff},
		{message(0x90, 1, 2), NoteOn},
		{message(0x90, 1, 0), NoteOff},
		{message(0xA0, 1, 2), PolyPressure},
		{message(0xB0, 1, 2), ControlChange},
		{message(0xC0, 1), ProgramChange},
		{message(0xD0, 1), ChannelPressure},
		{message(0xE0, 1, 2), PitchBend},
		{message(0xF1, 1), TimeCode},
		{message(0xF2, 1, 2), SongPosition},
		{message(0xF3, 1), SongSelect},
		{message(0xF6), TuneRequest},
		{message(0xF8), Tick},
		{message(0xF9), Undefined},
		{message(0xFA), Start},
		{message(0xFB), Continue},
		{message(0xFC), Stop},
		{message(0xFD), Undefined},
		{message(0xFE), ActiveSensing},
		{message(0xFF), SystemReset},
		{message(0x12), Undefined},
	} {
		if got := c.m.Kind(); got != c.want {
			t.Errorf("% X: have %v, want %v", c.m.Bytes[:c.m.Len], got, c.want)
		}
	}
	if a, b := Tick.String(), Kind(200).String(); a != "tick" || b != "undefined" {
		t.Errorf("have %q and %q", a, b)
	}
	if n := message(0xF8).Channel() + message().Channel(); n != 0 {
		t.Errorf("channel of a system message: %d, want 0", n)
	}
}

// Source: MIDI 1.0, song position: 14 bit, least significant first, in
// sixteenths; the worked values are in midi-stream.csv.
func TestMessageClock(t *testing.T) {
	for _, c := range []struct {
		m    Message
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
		if got, ok := c.m.Clock(); !ok || got != c.want {
			t.Errorf("% X: have %+v %v, want %+v", c.m.Bytes, got, ok, c.want)
		}
	}
	for _, m := range []Message{message(0x90, 1, 2), message(0xFE), message(0xF9), message(0xFF), message(0xF1, 3)} {
		if e, ok := m.Clock(); ok {
			t.Errorf("% X is no clock event, have %+v", m.Bytes, e)
		}
	}
}

// A full inbox gives up note-ons first, then other channel messages, and
// keeps the rest of its room for the clock.
func TestInboxKeepsClock(t *testing.T) {
	in := NewInbox(clock.Base{}, 100, nil)
	fill := func(m Message) int {
		for range 200 {
			in.Put(m)
		}
		return len(in.queue)
	}
	got := []int{fill(message(0x90, 1, 1)), fill(message(0x80, 1, 0)), fill(message(0xF8))}
	if got[0] != 50 || got[1] != 75 || got[2] != 100 {
		t.Errorf("room for note on, note off, clock: have %v, want [50 75 100]", got)
	}
	if in.Dropped() != 600-100 {
		t.Errorf("dropped %d, want 500", in.Dropped())
	}
	if n := testing.AllocsPerRun(100, func() { in.Put(message(0xF8)) }); n != 0 {
		t.Errorf("%v allocations, want 0", n)
	}
}

func TestOpenChoosesPort(t *testing.T) {
	dir := t.TempDir()
	for spec, want := range map[string]string{
		"-": "*midi.RawPort", "/dev/snd/midiC1D0": "*midi.RawPort", dir + "/fifo": "*midi.RawPort",
		"Stage Keys": "*midi.DriverPort",
	} {
		p, err := Open(spec, Options{Child: []string{"x"}})
		if err != nil || typeName(p) != want {
			t.Errorf("%q: have %s %v, want %s", spec, typeName(p), err, want)
		}
	}
	for _, spec := range []string{"", "  ", "file:" + dir + "/none.mid"} {
		if p, err := Open(spec, Options{}); err == nil {
			t.Errorf("%q: have %v, want an error", spec, p)
		}
	}
	if !haveDriver {
		if _, err := Open("Stage Keys", Options{}); err == nil || !strings.Contains(err.Error(), "-tags rtmidi") {
			t.Errorf("have %v, want advice on the build tag", err)
		}
	}
}

func typeName(v any) string { return fmt.Sprintf("%T", v) }
