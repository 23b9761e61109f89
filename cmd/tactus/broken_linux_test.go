package main

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A process that is in the midst of writing is told to stop by Ctrl-C: the old
// file is there byte for byte, and nothing else.
func TestInterruptLeavesNoHalfFile(t *testing.T) {
	dir := t.TempDir()
	recorded, pipe, capture := filepath.Join(dir, "j"), filepath.Join(dir, "pipe"), filepath.Join(dir, "out", "night.pcapng")
	if err := os.Mkdir(filepath.Dir(capture), 0o755); err != nil {
		t.Fatal(err)
	}
	old := []byte("the capture of last month")
	if err := os.WriteFile(capture, old, 0o640); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.CommandContext(t.Context(), binary(t), "run", "demo", "--midi", "plan", "--to", "127.0.0.1", "--for", "2s", "--journal", recorded).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	lines, err := os.ReadFile(recorded)
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), binary(t), "replay", pipe, "--pcapng", capture)
	var said bytes.Buffer
	c.Stderr = &said
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	feed, err := os.OpenFile(pipe, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	// All but the end; then, while it waits for more, the interrupt.
	if _, err := feed.Write(lines[:bytes.LastIndexByte(bytes.TrimSpace(lines), '\n')+1]); err != nil {
		t.Fatal(err)
	}
	waitFor(t, func() bool { parts, _ := filepath.Glob(filepath.Join(dir, "out", ".tactus-*")); return len(parts) == 1 })
	if err := c.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	at := bytes.LastIndex(lines, []byte(" frame "))
	from, to := bytes.LastIndexByte(lines[:at], '\n')+1, at+bytes.IndexByte(lines[at:], '\n')+1
	last := lines[from:to]
	for err == nil { // until it has gone
		_, err = feed.Write(last)
	}
	if !errors.Is(err, syscall.EPIPE) {
		t.Error(err)
	}
	if err := c.Wait(); c.ProcessState.ExitCode() != exitFail {
		t.Errorf("%v, want exit code %d\n%s", err, exitFail, said.String())
	}
	if got, err := os.ReadFile(capture); err != nil || !bytes.Equal(got, old) {
		t.Errorf("%v: %d bytes in the old file, want it as it was", err, len(got))
	}
	if left, _ := os.ReadDir(filepath.Dir(capture)); len(left) != 1 {
		t.Errorf("left: %v", left)
	}
	if !strings.Contains(said.String(), "broken off") {
		t.Errorf("said %q", said.String())
	}
}

// waitFor looks again and again until something has come true.
func waitFor(t *testing.T, is func() bool) {
	t.Helper()
	tick, late := time.NewTicker(5*time.Millisecond), time.After(20*time.Second)
	defer tick.Stop()
	for !is() {
		select {
		case <-tick.C:
		case <-late:
			t.Fatal("it did not come true within 20 s")
		}
	}
}
