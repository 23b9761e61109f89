//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// process is a program that a test started.
type process struct {
	cmd  *exec.Cmd
	name string
	done chan error
	out  *lockedBuffer
}

// start runs a program and waits until it has printed a phrase.
func start(t testing.TB, phrase string, args ...string) *process {
	t.Helper()
	cmd := exec.Command(args[0], args[1:]...)
	p := &process{cmd: cmd, name: filepath.Base(args[0]), done: make(chan error, 1), out: newLockedBuffer(phrase)}
	cmd.Stdout, cmd.Stderr = p.out, p.out
	require.NoError(t, cmd.Start())
	go func() { p.done <- cmd.Wait() }()
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	select {
	case <-p.out.seen:
	case err := <-p.done:
		require.Fail(t, fmt.Sprintf("%v ended: %v\n%s", args, err, p.out))
	case <-time.After(time.Minute):
		require.Fail(t, fmt.Sprintf("%v does not print %q:\n%s", args, phrase, p.out))
	}
	return p
}

// wait lets the program run until the timer, or fails if it ends.
func (p *process) wait(t testing.TB, timer <-chan time.Time) {
	t.Helper()
	select {
	case err := <-p.done:
		require.Fail(t, fmt.Sprintf("%s ended: %v\n%s", p.name, err, p.out))
	case <-timer:
	}
}

// stop sends a signal and waits for a clean exit.
func (p *process) stop(t testing.TB, s os.Signal) {
	t.Helper()
	require.NoError(t, p.cmd.Process.Signal(s))
	select {
	case err := <-p.done:
		require.NoError(t, err, "%s\n%s", p.name, p.out)
	case <-time.After(time.Minute):
		require.Fail(t, fmt.Sprintf("%s does not end\n%s", p.name, p.out))
	}
}

// lockedBuffer keeps what a program prints and tells when a phrase was seen.
type lockedBuffer struct {
	mu     sync.Mutex
	text   bytes.Buffer
	phrase string
	seen   chan struct{}
}

func newLockedBuffer(phrase string) *lockedBuffer {
	return &lockedBuffer{phrase: phrase, seen: make(chan struct{})}
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.text.Write(p)
	if b.phrase != "" && strings.Contains(b.text.String(), b.phrase) {
		b.phrase = ""
		close(b.seen)
	}
	return len(p), nil
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}
