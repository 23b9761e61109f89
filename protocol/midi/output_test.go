//go:build unix

package midi

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	require.NoError(t, err)
	r.Output = out
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- out.Run(ctx) }()
	r.end = func() {
		cancel()
		select {
		case err := <-done:
			assert.ErrorIs(t, err, context.Canceled, "Run returned")
			done <- err
		case <-time.After(10 * time.Second):
			assert.Fail(t, "Run goes on after the end of its context")
		}
	}
	t.Cleanup(func() { r.end() })
	return r
}

func (r *outlet) said(up bool, part string) {
	r.t.Helper()
	select {
	case s := <-r.status:
		require.Equal(r.t, up, s.Up)
		if !up {
			require.ErrorContains(r.t, s.Err, part)
		}
	case <-time.After(10 * time.Second):
		require.Fail(r.t, fmt.Sprintf("no report, want up %v %q", up, part))
	}
}

// reader opens a FIFO as one that is there before its writer.
func reader(t *testing.T, path string) *os.File {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDONLY|unix.O_NONBLOCK, 0)
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	require.NoError(t, f.SetReadDeadline(time.Now().Add(20*time.Second)))
	return f
}

func expect(t *testing.T, r io.Reader, want ...byte) {
	t.Helper()
	got := make([]byte, len(want))
	_, err := io.ReadFull(r, got)
	require.NoError(t, err)
	require.Equal(t, want, got)
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
	s := o.Stats()
	assert.EqualValues(t, 54, s.Sent, "counts")
	assert.Zero(t, s.Lost, "counts")
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
	s := o.Stats()
	assert.EqualValues(t, 3, s.Sent, "counts")
	assert.EqualValues(t, 6, s.Lost, "counts")
}

// A reader that stops reading never holds up the sender: it is a loss that is
// counted, and the port is used again once it takes something.
func TestOutputStuck(t *testing.T) {
	path := fifo(t)
	in := reader(t, path)
	filler, err := os.OpenFile(path, os.O_WRONLY|unix.O_NONBLOCK, 0)
	require.NoError(t, err)
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
	assert.LessOrEqual(t, base.Now(), 100*clock.Millisecond)
	assert.LessOrEqual(t, accepted, 20)
	o.said(false, errStuck.Error())
	_, err = io.CopyN(io.Discard, in, int64(filled))
	require.NoError(t, err)
	for len(o.status) == 0 { // it is tried with what comes
		o.Send(NewNoteOn(1, 61, 2))
		require.NoError(t, in.SetReadDeadline(time.Now().Add(50*time.Millisecond)))
		var got [3]byte
		if _, err := io.ReadFull(in, got[:]); err == nil {
			require.Equal(t, [3]byte{0x90, 61, 2}, got, "late messages are not sent")
		}
	}
	o.said(true, "")
	o.end()
	assert.GreaterOrEqual(t, o.Stats().Lost, uint64(980), "counts")
}

// A queue without a writer keeps its last quarter from note-ons.
func TestOutputKeepsRoomForNoteOffs(t *testing.T) {
	o, err := OpenOutput("file:nowhere", OutputOptions{Queue: 8})
	require.NoError(t, err)
	for i := range 10 {
		assert.Equal(t, i < 6, o.Send(NewNoteOn(1, 1, 1)), "note-on %d accepted", i)
	}
	for i := range 4 {
		assert.Equal(t, i < 2, o.Send(NewNoteOff(1, 1)), "note-off %d accepted", i)
	}
	assert.False(t, o.Send(Message{}), "counts")
	assert.EqualValues(t, 4+2+1, o.Stats().Lost, "counts")
}

func TestOutputFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "octets")
	for range 2 {
		o := runOutput(t, "file:"+path, OutputOptions{})
		o.said(true, "")
		o.Send(NewProgramChange(1, 9))
		o.end()
	}
	b, err := os.ReadFile(path)
	assert.NoError(t, err)
	assert.Equal(t, []byte{0xC0, 9, 0xC0, 9}, b)
	missing := filepath.Join(t.TempDir(), "midiC9D0") // a device is never made
	o := runOutput(t, missing, OutputOptions{})
	o.said(false, "not plugged in?")
	o.end()
	_, err = os.Stat(missing)
	assert.Error(t, err, "a raw device was made as a file")
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
		_, err := OpenOutput(spec, OutputOptions{})
		assert.ErrorIs(t, err, ErrSpec, "%q", spec)
	}
	if _, err := OpenOutput("Stage Keys", OutputOptions{}); !haveDriver {
		assert.ErrorIs(t, err, ErrNoDriver, "a name without a driver")
	}
}

// A port of the driver, in its child process, gets what is sent; one whose
// driver hangs in a send is killed and opened again.
func TestOutputDriver(t *testing.T) {
	path := fifo(t)
	t.Setenv(fakeOut, path)
	keep, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
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
			lost = !s.Up
			require.ErrorContains(t, s.Err, errHang.Error())
		case <-deadline:
			require.Fail(t, "a driver that hangs is not noticed")
		case <-time.After(100 * time.Millisecond):
		}
	}
	o.said(true, "")
	o.Send(NewProgramChange(1, 3))
	expect(t, in, 0xC0, 3)
	names, err := ListOutputs(t.Context(), OutputOptions{Child: childPort(t, "send", "").command})
	if assert.NoError(t, err) {
		if assert.GreaterOrEqual(t, len(names), 2) {
			assert.Equal(t, "Pads 24:0", names[len(names)-1].Spec)
		}
	}
	other := runOutput(t, "no such port", OutputOptions{Child: childPort(t, "send", "").command})
	other.said(false, ErrNoPort.Error())
}

func TestOutputSendAllocs(t *testing.T) {
	o, err := OpenOutput("file:nowhere", OutputOptions{Queue: 100})
	require.NoError(t, err)
	buf := make([]byte, 0, 3)
	assert.Zero(t, testing.AllocsPerRun(1000, func() {
		m := NewNoteOn(10, 37, 100)
		o.Send(m)
		buf = m.AppendTo(buf[:0])
	}), "allocations")
}
