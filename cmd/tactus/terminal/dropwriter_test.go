package terminal_test

import (
	"context"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/terminal"
)

// stalledFile takes nothing until it is released.
type stalledFile struct {
	released chan struct{}
	taken    strings.Builder
}

func (s *stalledFile) Write(b []byte) (int, error) {
	<-s.released
	return s.taken.Write(b)
}

func tellLost(to io.Writer, lost int) { fmt.Fprintf(to, "lost %d\n", lost) }

// A terminal that takes nothing holds nobody up. What there was no room for is counted,
// in its place, when the terminal takes text again.
func TestDropWriterNeverWaits(t *testing.T) {
	file := &stalledFile{released: make(chan struct{})}
	d := terminal.NewDropWriter(file, tellLost)
	line := strings.Repeat("x", 999) + "\n"
	const written = 1000 // a megabyte, far more than the queue holds
	for range written {
		n, err := io.WriteString(d, line)
		require.NoError(t, err)
		require.Len(t, line, n)
	}
	close(file.released)
	d.Close(t.Context())
	lines := strings.Split(strings.TrimSuffix(file.taken.String(), "\n"), "\n")
	var lost int
	_, err := fmt.Sscanf(lines[len(lines)-1], "lost %d", &lost)
	require.NoError(t, err, "the last line tells the loss: %.80q", lines[len(lines)-1])
	assert.Equal(t, written, lost+len(lines)-1, "every line was written or counted")
	assert.GreaterOrEqual(t, len(lines), 100, "lines that were kept")
}

// The loss is told between the lines before it and those after it.
func TestDropWriterTellsLossInPlace(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		file := &stalledFile{released: make(chan struct{})}
		d := terminal.NewDropWriter(file, tellLost)
		io.WriteString(d, strings.Repeat("a", 100<<10)+"\n")
		synctest.Wait() // it is being written, and takes no room in the queue
		io.WriteString(d, strings.Repeat("b", 100<<10)+"\n")
		io.WriteString(d, strings.Repeat("c", 100<<10)+"\n") // no room
		io.WriteString(d, "d\n")                             // room again
		close(file.released)
		d.Close(t.Context())
		got := strings.NewReplacer(strings.Repeat("a", 100<<10), "a", strings.Repeat("b", 100<<10), "b").Replace(file.taken.String())
		assert.Equal(t, "a\nb\nlost 1\nd\n", got)
	})
}

// An exit waits for a stalled terminal no longer than it was told to.
func TestDropWriterCloseIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		file := &stalledFile{released: make(chan struct{})}
		d := terminal.NewDropWriter(file, tellLost)
		io.WriteString(d, "goodbye\n")
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		began := time.Now()
		d.Close(ctx)
		assert.Equal(t, time.Second, time.Since(began))
		io.WriteString(d, "after\n") // does not wait either
		close(file.released)
		synctest.Wait()
		assert.Equal(t, "goodbye\n", file.taken.String())
	})
}
