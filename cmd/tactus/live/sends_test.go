package live

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows"

	"github.com/rs/zerolog"
)

// What a show says of where its cues send holds in a run, and not in a
// rehearsal; flags come first; without either a run tells once.
func TestWhereCuesSend(t *testing.T) {
	show, problems := shows.Load(os.DirFS(slideShow(t)), shows.Options{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	open := func(f Options) (*messages, string, error) {
		var log bytes.Buffer
		m, err := openMessages(show, &f, clock.NewBase(), zerolog.New(&log), func(midi.Status) {})
		return m, log.String(), err
	}
	if m, log, err := open(Options{}); m != nil || log != "" || err != nil {
		t.Errorf("a rehearsal opens %v, says %q, %v", m, log, err)
	}
	if m, log, err := open(Options{Messages: true}); m != nil || err != nil || strings.Count(log, "nothing says where") != 2 {
		t.Errorf("a run without a way opens %v, says %q, %v", m, log, err)
	}
	show.Outputs.Messages.MIDI = "file:" + filepath.Join(t.TempDir(), "of the show")
	m, log, err := open(Options{Messages: true, OSCTo: "127.0.0.1:9"})
	if err != nil || m.midi == nil || m.midi.Name() != show.Outputs.Messages.MIDI || m.osc == nil || strings.Contains(log, "nothing says") {
		t.Errorf("the show's port: %+v, %q, %v", m, log, err)
	}
	if m, _, err = open(Options{Messages: true, MIDIOut: "file:other"}); err != nil || m.midi.Name() != "file:other" || m.osc != nil {
		t.Errorf("the flag's port: %+v, %v", m, err)
	}
	for _, bad := range []string{"here", "127.0.0.1", "127.0.0.1:0", ":9"} {
		var usage usage.Error
		if _, _, err := open(Options{OSCTo: bad}); !errors.As(err, &usage) {
			t.Errorf("--osc-to %q: %v, want a usage error", bad, err)
		}
	}
}

// Deliver neither waits nor touches the heap, whether anybody takes it or not.
func TestDeliverWithoutHeap(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector allocates")
	}
	show, problems := shows.Load(os.DirFS(slideShow(t)), shows.Options{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	f := Options{MIDIOut: "file:" + filepath.Join(t.TempDir(), "slides"), OSCTo: "127.0.0.1:9"}
	m, err := openMessages(show, &f, clock.NewBase(), zerolog.Nop(), func(midi.Status) {})
	if err != nil {
		t.Fatal(err)
	}
	var to engine.Messages = m
	n := testing.AllocsPerRun(1000, func() { // nobody runs: the queues fill, then overflow
		for i := range show.Program.Sends {
			to.Deliver(&show.Program.Sends[i])
		}
	})
	if n != 0 {
		t.Errorf("%v allocations", n)
	}
	if m.midi.Stats().Lost == 0 || m.osc.Stats().Lost == 0 {
		t.Error("the queues have no end")
	}
}
