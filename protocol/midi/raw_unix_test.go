//go:build unix

package midi

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func fifo(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "midi")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	return path
}

// openWriter waits for the port, as a sender's open does.
func openWriter(t *testing.T, path string) *os.File {
	t.Helper()
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	return w
}

func write(t *testing.T, w *os.File, b ...byte) {
	t.Helper()
	_, err := w.Write(b)
	require.NoError(t, err)
}

// Real octets through a real FIFO whose sender comes and goes.
func TestRawFIFOReopens(t *testing.T) {
	path := fifo(t)
	h := runPort(t, NewRaw(path, 2))
	for round := range byte(20) {
		w := openWriter(t, path)
		before := h.base.Now()
		write(t, w, 0xFA, 0xF8, 0x90, round)
		m := h.next(Start)
		require.GreaterOrEqual(t, m.At, before, "round %d", round)
		require.LessOrEqual(t, m.At, h.base.Now(), "round %d", round)
		require.EqualValues(t, 2, m.Port, "round %d", round)
		h.next(Tick)
		h.said(true, "")
		write(t, w, 0xF8, 0x64)
		h.next(Tick)
		m = h.next(NoteOn)
		require.Equal(t, round, m.Note(), "round %d", round)
		require.EqualValues(t, 100, m.Velocity(), "round %d", round)
		write(t, w, 0x3E) // running status, cut off by the sender's end
		require.NoError(t, w.Close())
		h.next(Lost)
		h.said(false, errGone.Error())
	}
}

// A sender that opens the FIFO the moment after another one left must get
// through: there is always a reader.
func TestRawFIFOBackToBack(t *testing.T) {
	path := fifo(t)
	h := runPort(t, NewRaw(path, 0))
	const rounds = 300
	go func() {
		for range rounds {
			w, err := os.OpenFile(path, os.O_WRONLY, 0)
			if err == nil {
				_, err = w.Write([]byte{0xF8})
			}
			if !assert.NoError(t, err) {
				return
			}
			w.Close()
		}
	}()
	late := time.After(10 * time.Second)
	for ticks := 0; ticks < rounds; {
		select {
		case <-late:
			require.Fail(t, fmt.Sprintf("%d ticks, want %d", ticks, rounds))
		case m := <-h.in.Messages():
			if m.Kind() == Tick {
				ticks++
			}
		case <-h.status:
		}
	}
}

func TestRawEndsWhileWaiting(t *testing.T) {
	path := fifo(t)
	h := runPort(t, NewRaw(path, 0)) // no sender ever
	h.end()
	h = runPort(t, NewRaw(path, 0))
	w := openWriter(t, path) // a sender that sends nothing
	defer w.Close()
	h.end()
	assert.Zero(t, len(h.in.queue)+len(h.status), "%d messages, %d reports", len(h.in.queue), len(h.status))
}

// A path that is not there is reported once and found when it comes.
func TestRawAppearsLater(t *testing.T) {
	path := filepath.Join(t.TempDir(), "later")
	h := runPort(t, NewRaw(path, 0))
	h.said(false, "not plugged in?")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	w := openWriter(t, path)
	defer w.Close()
	write(t, w, 0xF8)
	h.next(Tick)
	h.said(true, "")
}

func TestRawNotAStream(t *testing.T) {
	h := runPort(t, NewRaw(t.TempDir(), 0))
	h.said(true, "")
	h.said(false, "is a directory")
}

// A pseudo terminal is the serial device of a test: octets that a terminal
// would eat or change arrive as they are, and its end is a lost port.
func TestRawSerial(t *testing.T) {
	master, path := pty(t)
	h := runPort(t, NewRaw(path, 1))
	h.said(true, "")
	for _, data := range []byte{0x03, 0x04, 0x0A, 0x0D, 0x11, 0x13, 0x1A, 0x7F} {
		write(t, master, 0xB0, data, data, 0xF8, 0xFF)
		m := h.next(ControlChange)
		require.Equal(t, data, m.Controller(), "have % X", m.Bytes)
		require.Equal(t, data, m.Value(), "have % X", m.Bytes)
		h.next(Tick)
		h.next(SystemReset)
	}
	require.NoError(t, master.Close())
	h.next(Lost)
	h.said(false, path)
}

func pty(t *testing.T) (*os.File, string) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("needs a pseudo terminal: ", err)
	}
	path, err := ptyName(int(master.Fd()))
	if err != nil {
		t.Skip("needs a pseudo terminal: ", err)
	}
	return master, path
}

func TestRawStandardInput(t *testing.T) {
	r, w, err := os.Pipe()
	require.NoError(t, err)
	defer r.Close()
	stdin := os.Stdin
	os.Stdin = r
	defer func() { os.Stdin = stdin }()
	h := runPort(t, NewRaw("-", 0))
	h.said(true, "")
	write(t, w, 0xF8)
	h.next(Tick)
	w.Close()
	h.next(Lost)
	h.said(false, "end of stream")
	h.end()
}

func TestRawExplains(t *testing.T) {
	for err, part := range map[error]string{
		syscall.EBUSY: "in use by another program", fs.ErrPermission: "group audio", syscall.ENODEV: "not plugged in",
	} {
		got := withHint("/dev/snd/midiC1D0", err)
		assert.ErrorContains(t, got, part)
		assert.ErrorIs(t, got, err)
	}
}
