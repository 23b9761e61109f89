//go:build unix

package midi

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

func fifo(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "midi")
	if err := unix.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// openWriter waits for the port, as a sender's open does.
func openWriter(t *testing.T, path string) *os.File {
	t.Helper()
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func write(t *testing.T, w *os.File, b ...byte) {
	t.Helper()
	if _, err := w.Write(b); err != nil {
		t.Fatal(err)
	}
}

// Real octets through a real FIFO whose sender comes and goes.
func TestRawFIFOReopens(t *testing.T) {
	path := fifo(t)
	h := runPort(t, NewRaw(path, 2))
	for round := range byte(20) {
		w := openWriter(t, path)
		before := h.base.Now()
		write(t, w, 0xFA, 0xF8, 0x90, round)
		if m := h.next(Start); m.At < before || m.At > h.base.Now() || m.Port != 2 {
			t.Fatalf("round %d: stamp %d, written after %d, port %d", round, m.At, before, m.Port)
		}
		h.next(Tick)
		h.said(true, "")
		write(t, w, 0xF8, 0x64)
		h.next(Tick)
		if m := h.next(NoteOn); m.Note() != round || m.Velocity() != 100 {
			t.Fatalf("round %d: have %+v", round, m)
		}
		write(t, w, 0x3E) // running status, cut off by the sender's end
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
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
			if err != nil {
				t.Error(err)
				return
			}
			w.Close()
		}
	}()
	late := time.After(10 * time.Second)
	for ticks := 0; ticks < rounds; {
		select {
		case <-late:
			t.Fatalf("%d ticks, want %d", ticks, rounds)
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
	if len(h.in.queue)+len(h.status) > 0 {
		t.Errorf("%d messages, %d reports, want none", len(h.in.queue), len(h.status))
	}
}

// A path that is not there is reported once and found when it comes.
func TestRawAppearsLater(t *testing.T) {
	path := filepath.Join(t.TempDir(), "later")
	h := runPort(t, NewRaw(path, 0))
	h.said(false, "not plugged in?")
	if err := unix.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
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
		if m := h.next(ControlChange); m.Controller() != data || m.Value() != data {
			t.Fatalf("have % X, want B0 %02X %02X", m.Bytes, data, data)
		}
		h.next(Tick)
		h.next(SystemReset)
	}
	if err := master.Close(); err != nil {
		t.Fatal(err)
	}
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
	if err != nil {
		t.Fatal(err)
	}
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
		if got := explain("/dev/snd/midiC1D0", err); !strings.Contains(got.Error(), part) || !errors.Is(got, err) {
			t.Errorf("have %v, want %q", got, part)
		}
	}
}
