package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A process that is in the midst of writing is told to stop by Ctrl-C: the old
// file is there byte for byte, and nothing else.
func TestInterruptLeavesNoHalfFile(t *testing.T) {
	dir := t.TempDir()
	recorded, pipe, capture := filepath.Join(dir, "j"), filepath.Join(dir, "pipe"), filepath.Join(dir, "out", "night.pcapng")
	require.NoError(t, os.Mkdir(filepath.Dir(capture), 0o755))
	old := []byte("the capture of last month")
	require.NoError(t, os.WriteFile(capture, old, 0o640))
	out, err := exec.CommandContext(t.Context(), binary(t), "run", "demo", "--midi", "plan", "--to", "127.0.0.1", "--for", "2s", "--journal", recorded).CombinedOutput()
	require.NoError(t, err, "%s", out)
	lines, err := os.ReadFile(recorded)
	require.NoError(t, err)
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	c := exec.CommandContext(t.Context(), binary(t), "replay", pipe, "--pcapng", capture, "--force")
	var said bytes.Buffer
	c.Stderr = &said
	require.NoError(t, c.Start())
	feed, err := os.OpenFile(pipe, os.O_WRONLY, 0)
	require.NoError(t, err)
	// All but the end; then, while it waits for more, the interrupt.
	_, err = feed.Write(lines[:bytes.LastIndexByte(bytes.TrimSpace(lines), '\n')+1])
	require.NoError(t, err)
	waitFor(t, func() bool { parts, _ := filepath.Glob(filepath.Join(dir, "out", ".tactus-*")); return len(parts) == 1 })
	require.NoError(t, c.Process.Signal(syscall.SIGINT))
	at := bytes.LastIndex(lines, []byte(" frame "))
	from, to := bytes.LastIndexByte(lines[:at], '\n')+1, at+bytes.IndexByte(lines[at:], '\n')+1
	last := lines[from:to]
	for err == nil { // until it has gone
		_, err = feed.Write(last)
	}
	assert.ErrorIs(t, err, syscall.EPIPE)
	err = c.Wait()
	assert.Equal(t, exitFail, c.ProcessState.ExitCode(), "%v\n%s", err, said.String())
	got, err := os.ReadFile(capture)
	assert.NoError(t, err)
	assert.Equal(t, old, got)
	left, _ := os.ReadDir(filepath.Dir(capture))
	assert.Len(t, left, 1, "left")
	assert.Contains(t, said.String(), "interrupted")
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
			require.Fail(t, "it did not come true within 20 s")
		}
	}
}
