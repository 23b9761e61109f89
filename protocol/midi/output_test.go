//go:build unix

package midi

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"tactus/clock"
)

// outlet is a running output and what it reports.
type outlet struct {
	*Output
	t      *testing.T
	status chan Status
	end    func()
}

func runOutput(t *testing.T, spec string, o OutputOptions) *outlet {
	t.Helper()
	r := &outlet{t: t, status: make(chan Status, 64)}
	o.Base, o.Report = clock.NewBase(), func(s Status) { r.status <- s }
	out, err := OpenOutput(spec, o)
	if err != nil {
		t.Fatal(err)
	}
	r.Output = out
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- out.Run(ctx) }()
	r.end = func() {
		cancel()
		select {
		case err := <-done:
			if !errors.Is(err, context.Canceled) {
				t.Errorf("Run returned %v", err)
			}
			done <- err
		case <-time.After(10 * time.Second):
			t.Error("Run goes on after the end of its context")
		}
	}
	t.Cleanup(func() { r.end() })
	return r
}

func (r *outlet) said(up bool, part string) {
	r.t.Helper()
	select {
	case s := <-r.status:
		if s.Up != up || !up && !strings.Contains(s.Err.Error(), part) {
			r.t.Fatalf("have %+v, want up %v %q", s, up, part)
		}
	case <-time.After(10 * time.Second):
		r.t.Fatalf("no report, want up %v %q", up, part)
	}
}

// reader opens a FIFO as one that is there before its writer.
func reader(t *testing.T, path string) *os.File {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDONLY|unix.O_NONBLOCK, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	if err := f.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	return f
}

func expect(t *testing.T, r io.Reader, want ...byte) {
	t.Helper()
	got := make([]byte, len(want))
	if _, err := io.ReadFull(r, got); err != nil || !bytes.Equal(got, want) {
		t.Fatalf("read % X %v, want % X", got, err, want)
	}
}

// What is sent is read from a FIFO, with its status octet each time; what
// waits when the end comes still goes out.
func TestOutputFIFO(t *testing.T) {
	path := fifo(t)
	in := reader(t, path)
	o := runOutput(t, path, OutputOptions{})
	o.said(true, "")
	o.Send(NewNoteOn(10, 37, 100))
	o.Send(NewNoteOn(10, 37, 90))
	o.Send(NewProgramChange(2, 5))
	o.Send(NewControlChange(1, 7, 127))
	expect(t, in, 0x99, 37, 100, 0x99, 37, 90, 0xC1, 5, 0xB0, 7, 127)
	for range 50 {
		o.Send(NewNoteOff(10, 37))
	}
	o.end()
	for range 50 {
		expect(t, in, 0x89, 37, 64)
	}
	if s := o.Stats(); s.Sent != 54 || s.Lost != 0 {
		t.Errorf("counts %+v", s)
	}
}

// The reader goes away and comes back: told once, counted, and never a burst
// of what was late.
func TestOutputReaderComesAndGoes(t *testing.T) {
	path := fifo(t)
	o := runOutput(t, path, OutputOptions{})
	o.said(false, errUnread.Error())
	for round := range byte(3) {
		o.Send(NewNoteOn(1, 99, 99)) // late by the time somebody reads
		in := reader(t, path)
		o.said(true, "")
		o.Send(NewNoteOn(1, round, 1))
		expect(t, in, 0x90, round, 1)
		in.Close()
		o.Send(NewNoteOn(1, 98, 98)) // finds that the reader has gone
		o.said(false, errUnread.Error())
	}
	o.end()
	if s := o.Stats(); s.Sent != 3 || s.Lost != 6 {
		t.Errorf("counts %+v, want 3 sent and 6 lost", s)
	}
}

// A reader that stops reading never holds up the sender: it is a loss that is
// counted, and the port is used again once it takes something.
func TestOutputStuck(t *testing.T) {
	path := fifo(t)
	in := reader(t, path)
	filler, err := os.OpenFile(path, os.O_WRONLY|unix.O_NONBLOCK, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer filler.Close()
	junk, filled := make([]byte, 4096), 0
	for {
		n, err := unix.Write(int(filler.Fd()), junk)
		if err != nil {
			break // the pipe is full
		}
		filled += n
	}
	o := runOutput(t, path, OutputOptions{Queue: 16})
	o.said(true, "")
	base := clock.NewBase()
	accepted := 0
	for range 1000 {
		if o.Send(NewNoteOn(1, 60, 1)) {
			accepted++
		}
	}
	if took := base.Now(); took > 100*clock.Millisecond || accepted > 20 {
		t.Errorf("1000 sends took %v ms, %d accepted", took/clock.Millisecond, accepted)
	}
	o.said(false, errStuck.Error())
	if _, err := io.CopyN(io.Discard, in, int64(filled)); err != nil {
		t.Fatal(err)
	}
	for len(o.status) == 0 { // it is tried with what comes
		o.Send(NewNoteOn(1, 61, 2))
		if err := in.SetReadDeadline(time.Now().Add(50 * time.Millisecond)); err != nil {
			t.Fatal(err)
		}
		var got [3]byte
		if _, err := io.ReadFull(in, got[:]); err == nil && got != [3]byte{0x90, 61, 2} {
			t.Fatalf("read % X: late messages are not sent", got)
		}
	}
	o.said(true, "")
	o.end()
	if s := o.Stats(); s.Lost < 980 {
		t.Errorf("counts %+v", s)
	}
}

// A queue without a writer keeps its last quarter from note-ons.
func TestOutputKeepsRoomForNoteOffs(t *testing.T) {
	o, err := OpenOutput("file:nowhere", OutputOptions{Queue: 8})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 10 {
		if got, want := o.Send(NewNoteOn(1, 1, 1)), i < 6; got != want {
			t.Errorf("note-on %d accepted: %v", i, got)
		}
	}
	for i := range 4 {
		if got, want := o.Send(NewNoteOff(1, 1)), i < 2; got != want {
			t.Errorf("note-off %d accepted: %v", i, got)
		}
	}
	if o.Send(Message{}) || o.Stats().Lost != 4+2+1 {
		t.Errorf("counts %+v", o.Stats())
	}
}

func TestOutputFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "octets")
	for range 2 {
		o := runOutput(t, "file:"+path, OutputOptions{})
		o.said(true, "")
		o.Send(NewProgramChange(1, 9))
		o.end()
	}
	if b, err := os.ReadFile(path); err != nil || !bytes.Equal(b, []byte{0xC0, 9, 0xC0, 9}) {
		t.Errorf("the file has % X %v", b, err)
	}
	missing := filepath.Join(t.TempDir(), "midiC9D0") // a device is never made
	o := runOutput(t, missing, OutputOptions{})
	o.said(false, "not plugged in?")
	o.end()
	if _, err := os.Stat(missing); err == nil {
		t.Error("a raw device was made as a file")
	}
}

func TestOutputSerial(t *testing.T) {
	master, path := pty(t)
	o := runOutput(t, path, OutputOptions{})
	o.said(true, "")
	o.Send(NewControlChange(1, 10, 13)) // octets that a terminal would change
	expect(t, master, 0xB0, 10, 13)
	o.end()
	master.Close()
}

func TestOutputSpecs(t *testing.T) {
	for _, spec := range []string{"", " ", "file:"} {
		if _, err := OpenOutput(spec, OutputOptions{}); !errors.Is(err, ErrSpec) {
			t.Errorf("%q: %v", spec, err)
		}
	}
	if _, err := OpenOutput("Stage Keys", OutputOptions{}); !haveDriver && !errors.Is(err, ErrNoDriver) {
		t.Errorf("a name without a driver: %v", err)
	}
}

// A port of the driver, in its child process, gets what is sent; one whose
// driver hangs in a send is killed and opened again.
func TestOutputDriver(t *testing.T) {
	path := fifo(t)
	t.Setenv(fakeOut, path)
	keep, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer keep.Close()
	in := reader(t, path)
	o := runOutput(t, "stage keys", OutputOptions{Child: childPort(t, "send", "").command})
	o.said(true, "")
	o.Send(NewNoteOn(10, 76, 127))
	o.Send(NewNoteOff(10, 76))
	expect(t, in, 0x99, 76, 127, 0x89, 76, 64)
	o.Send(Message{Len: 1, Bytes: [3]byte{systemReset}}) // the fake hangs on it
	lost := false
	for deadline := time.After(20 * time.Second); !lost; {
		o.Send(NewNoteOff(1, 1))
		select {
		case s := <-o.status:
			if lost = !s.Up; !strings.Contains(s.Err.Error(), errHang.Error()) {
				t.Fatalf("have %+v", s)
			}
		case <-deadline:
			t.Fatal("a driver that hangs is not noticed")
		case <-time.After(100 * time.Millisecond):
		}
	}
	o.said(true, "")
	o.Send(NewProgramChange(1, 3))
	expect(t, in, 0xC0, 3)
	names, err := ListOutputs(t.Context(), OutputOptions{Child: childPort(t, "send", "").command})
	if err != nil || len(names) < 2 || names[len(names)-1].Spec != "Pads 24:0" {
		t.Errorf("%+v %v", names, err)
	}
	other := runOutput(t, "no such port", OutputOptions{Child: childPort(t, "send", "").command})
	other.said(false, ErrNoPort.Error())
}

func TestOutputSendAllocs(t *testing.T) {
	o, err := OpenOutput("file:nowhere", OutputOptions{Queue: 100})
	if err != nil {
		t.Fatal(err)
	}
	buf := make([]byte, 0, 3)
	if n := testing.AllocsPerRun(1000, func() {
		m := NewNoteOn(10, 37, 100)
		o.Send(m)
		buf = m.AppendTo(buf[:0])
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
