//go:build unix

package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
	play := func(until string) {
		f, err := os.OpenFile(fifo, os.O_WRONLY, 0)
		require.NoError(t, err)
		defer f.Close()
		stop := playDemo(t, f)
		expect(t, run, until)
		stop()
	}
	play(`"to":"locked"`)
	expect(t, run, `"MIDI port lost`, `"to":"holdover"`)
	play(`"from":"holdover"`)
	run.stop(t, syscall.SIGTERM)
	out := run.out.String()
	assert.Equal(t, 2, strings.Count(out, `"MIDI port open"`))
	assert.Contains(t, out, `"goodbye"`)
}

// playDemo plays the MIDI file of the demo in real time, as a DAW does. stop ends it.
func playDemo(t testing.TB, to io.Writer) (stop func()) {
	t.Helper()
	port, err := midi.OpenFile(shows.DemoMIDI, midi.Options{FS: shows.Demo()})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); _ = port.File.Schedule(0).Play(ctx, clock.NewBase(), to) }() // ends with ctx
	return func() { cancel(); <-done }
}

// expect waits until a program has printed all of the phrases.
func expect(t *testing.T, p *process, phrases ...string) {
	t.Helper()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(time.Minute)
	for _, phrase := range phrases {
		for !strings.Contains(p.out.String(), phrase) {
			select {
			case <-tick.C:
			case <-deadline:
				require.Fail(t, fmt.Sprintf("no %s in:\n%s", phrase, p.out))
			}
		}
	}
}
