//go:build unix

package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"tactus/clock"
	"tactus/protocol/midi"
	"tactus/shows"
)

// A sequencer that goes in the middle of a song is holdover, and when it comes
// back it leads again. The run itself never ends for it.
func TestLostPortIsHoldover(t *testing.T) {
	fifo := filepath.Join(t.TempDir(), "daw")
	if err := syscall.Mkfifo(fifo, 0o600); err != nil {
		t.Skipf("no FIFOs here: %v", err)
	}
	run := start(t, "MIDI in", binary(t), "run", "demo", "--protocol", "virtual", "--midi", fifo, "--log", "json")
	port, err := midi.OpenFile(shows.DemoMIDI, midi.Options{FS: shows.Demo()})
	if err != nil {
		t.Fatal(err)
	}
	play := func() {
		f, err := os.OpenFile(fifo, os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		ctx, cancel := context.WithTimeout(t.Context(), 3*time.Second)
		defer cancel()
		_ = port.File.Schedule(0).Play(ctx, clock.NewBase(), f) // ends with ctx
	}
	play()
	expect(t, run, `"MIDI port lost`, `"to":"holdover"`)
	play()
	expect(t, run, `"from":"holdover"`)
	run.stop(t, syscall.SIGTERM)
	if out := run.out.String(); strings.Count(out, `"MIDI port open"`) != 2 || !strings.Contains(out, `"goodbye"`) {
		t.Errorf("want two openings and a goodbye:\n%s", out)
	}
}

// expect waits until a program has printed all of the phrases.
func expect(t *testing.T, p *process, phrases ...string) {
	t.Helper()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(10 * time.Second)
	for _, phrase := range phrases {
		for !strings.Contains(p.out.String(), phrase) {
			select {
			case <-tick.C:
			case <-deadline:
				t.Fatalf("no %s in:\n%s", phrase, p.out)
			}
		}
	}
}
