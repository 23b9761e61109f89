package midi

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// fakeDriver stands in for the system's: it runs in the child process.
type fakeDriver struct {
	lists  [][]string // successive answers; the last repeats
	err    error
	hang   bool // from the second list on
	calls  int
	played func(message func([]byte))
}

func (d *fakeDriver) inputNames() ([]string, error) {
	if d.calls > 0 && d.hang {
		select {}
	}
	n := d.lists[min(d.calls, len(d.lists)-1)]
	d.calls++
	return n, d.err
}

func (d *fakeDriver) openInput(_ int, message func([]byte)) error {
	go d.played(message)
	return nil
}

func (d *fakeDriver) outputNames() ([]string, error) { return d.inputNames() }

// openOutput sends into the file that the environment names, or hangs.
func (d *fakeDriver) openOutput(int) (func([]byte) error, error) {
	return func(b []byte) error {
		if b[0] == 0xFF {
			<-time.After(time.Minute) // the driver hangs
		}
		f, err := os.OpenFile(os.Getenv(fakeOut), os.O_WRONLY|os.O_APPEND, 0)
		if err != nil {
			return err
		}
		defer f.Close()
		_, err = f.Write(b)
		return err
	}, nil
}

const fakeOut = "TACTUS_TEST_MIDI_OUT"

func fakeKeys(play func(message func([]byte))) *fakeDriver {
	return &fakeDriver{lists: [][]string{{"Stage Keys 20:0", "Pads 24:0"}}, played: play}
}

// childMode comes before the mode in a child's first argument.
const childMode = "midi-child="

// actChild is what the test binary does when it is run as a child.
func actChild(mode string, args []string) int {
	tick := func(message func([]byte)) { message([]byte{0xF8}) }
	d := fakeKeys(tick)
	out := func(kind byte, body string) { os.Stdout.Write(appendFrame(nil, kind, body)) }
	switch mode {
	case "play":
		d = fakeKeys(func(message func([]byte)) {
			message([]byte{0xF8})
			<-time.After(1500 * time.Millisecond) // three heartbeats
			message([]byte{0x90, 0x3C, 0x64})
			message([]byte{0xC0, 0x05})
		})
	case "real":
		return ChildMain(args)
	case "fails":
		d.err = errors.New("no sequencer on this computer")
	case "unplugged":
		d.lists = append(d.lists, []string{"Pads 24:0"})
	case "driver hangs":
		d.hang = true
	case "crash":
		out(frameHello, hello)
		out(frameMessage, "\xF8")
		panic("segmentation fault in the driver")
	case "exit":
		out(frameHello, hello)
		out(frameMessage, "\xF8")
		return 3
	case "hang":
		out(frameHello, hello)
		out(frameMessage, "\xF8")
		<-time.After(time.Minute)
	case "mute":
		<-time.After(time.Minute)
	case "garbage":
		fmt.Println("RtMidi: something went wrong")
		<-time.After(time.Minute)
	case "garbage later":
		out(frameHello, hello)
		out(frameMessage, "\xF8")
		fmt.Println("RtMidi: something went wrong")
		<-time.After(time.Minute)
	case "other version":
		out(frameHello, "tactus-midi 2")
		<-time.After(time.Minute)
	case "not JSON":
		fmt.Println(`"a port"` + "\nRtMidi: something went wrong")
		return 0
	case "flood":
		os.Stdout.WriteString(strings.Repeat(`"a port"`+"\n", maxList/4))
		return 0
	}
	return childMain(args, func() (driver, error) { return d, nil }, os.Stdin, os.Stdout, os.Stderr)
}

// harness runs a port and hands out what it says.
type harness struct {
	t      *testing.T
	in     *Inbox
	base   clock.Base
	status chan Status
	cancel context.CancelFunc
	done   chan error
}

func runPort(t *testing.T, p Port) *harness {
	h := &harness{t: t, base: clock.NewBase(), status: make(chan Status, 64), done: make(chan error, 1)}
	h.in = NewInbox(h.base, 1024, func(s Status) { h.status <- s })
	ctx, cancel := context.WithCancel(t.Context())
	h.cancel = cancel
	go func() { h.done <- p.Run(ctx, h.in) }()
	t.Cleanup(h.end)
	return h
}

// end cancels and waits; a port must let go at once.
func (h *harness) end() {
	h.t.Helper()
	h.cancel()
	select {
	case err := <-h.done:
		assert.ErrorIs(h.t, err, context.Canceled, "Run returned")
		h.done <- err
	case <-time.After(5 * time.Second):
		assert.Fail(h.t, "Run goes on after the end of its context")
	}
}

// next wants a message of a kind.
func (h *harness) next(want Kind) Message {
	h.t.Helper()
	select {
	case m := <-h.in.Messages():
		require.Equal(h.t, want, m.Kind(), "have %v (% X)", m.Kind(), m.Bytes)
		return m
	case <-time.After(10 * time.Second):
		require.Fail(h.t, fmt.Sprintf("no message, want %v", want))
	}
	return Message{}
}

// said wants the next status, up or down with part of an error.
func (h *harness) said(up bool, part string) Status {
	h.t.Helper()
	select {
	case s := <-h.status:
		require.Equal(h.t, up, s.Up)
		require.Equal(h.t, up, s.Err == nil)
		if !up {
			require.ErrorContains(h.t, s.Err, part)
		}
		return s
	case <-time.After(10 * time.Second):
		require.Fail(h.t, fmt.Sprintf("no status, want up %v %q", up, part))
	}
	return Status{}
}

func childPort(t *testing.T, mode, want string) *DriverPort {
	self, err := os.Executable()
	require.NoError(t, err)
	p := NewDriverPort(want, Options{Number: 9, Child: []string{self, childMode + mode}})
	p.hangAfter = time.Second
	return p
}

// Heartbeats keep a silent port alive for longer than a hang may last.
func TestDriverPortPlays(t *testing.T) {
	t.Parallel()
	h := runPort(t, childPort(t, "play", "stage keys"))
	h.said(true, "")
	first := h.next(Tick)
	note := h.next(NoteOn)
	assert.EqualValues(t, 60, note.Note())
	assert.EqualValues(t, 100, note.Velocity())
	assert.EqualValues(t, 9, note.Port)
	d := note.At.Sub(first.At)
	assert.GreaterOrEqual(t, d, 1400*time.Millisecond, "sent 1.5 s apart")
	assert.LessOrEqual(t, d, 5*time.Second, "sent 1.5 s apart")
	m := h.next(ProgramChange)
	assert.EqualValues(t, 5, m.Program())
	assert.LessOrEqual(t, m.At, h.base.Now())
}

// Whatever becomes of the child, the port is lost, says why, and comes back.
func TestDriverPortSurvives(t *testing.T) {
	t.Parallel()
	for mode, why := range map[string]string{
		"crash":         "segmentation fault in the driver",
		"exit":          "exit status 3",
		"hang":          errHang.Error(),
		"driver hangs":  errHang.Error(),
		"garbage later": errFrame.Error(),
		"unplugged":     errUnplugged.Error(),
	} {
		t.Run(mode, func(t *testing.T) {
			t.Parallel()
			h := runPort(t, childPort(t, mode, "Stage Keys"))
			for range 2 {
				h.said(true, "")
				h.next(Tick)
				lost := h.next(Lost)
				e, ok := lost.ClockEvent()
				assert.True(t, ok, "lost")
				assert.Equal(t, clock.Lost, e.Kind, "lost")
				assert.EqualValues(t, 9, lost.Port, "lost")
				s := h.said(false, why)
				assert.GreaterOrEqual(t, s.At, lost.At)
				assert.Equal(t, "Stage Keys", s.Port)
				assert.EqualValues(t, 9, s.Number)
			}
		})
	}
}

// A child that never gets as far as hello was never up: no Lost, one report.
func TestDriverPortNeverUp(t *testing.T) {
	t.Parallel()
	for mode, why := range map[string]string{
		"fails":         "no sequencer on this computer",
		"garbage":       errFrame.Error(),
		"other version": errFrame.Error(),
		"mute":          errHang.Error(),
	} {
		t.Run(mode, func(t *testing.T) {
			t.Parallel()
			p := childPort(t, mode, "Stage Keys")
			if mode == "mute" {
				p.helloWithin = 200 * time.Millisecond
			}
			h := runPort(t, p)
			h.said(false, why)
			h.end()
			assert.Zero(t, len(h.in.queue)+len(h.status), "%d messages and %d more reports", len(h.in.queue), len(h.status))
		})
	}
	for want, why := range map[string]string{
		"Organ": `"Organ": no MIDI port of that name; there is "Stage Keys 20:0", "Pads 24:0"`,
		"0":     ErrAmbiguous.Error(), // part of both, and never an index
	} {
		h := runPort(t, childPort(t, "play", want))
		h.said(false, why)
		h.end()
	}
	p := NewDriverPort("x", Options{Child: []string{t.TempDir() + "/none"}})
	h := runPort(t, p)
	h.said(false, "none")
}

func TestListAsksTheChild(t *testing.T) {
	list := func(mode string) ([]Info, error) {
		infos, err := List(t.Context(), Options{Child: childPort(t, mode, "").command})
		return slices.DeleteFunc(infos, func(i Info) bool { return i.Raw }), err
	}
	infos, err := list("play")
	if assert.NoError(t, err) {
		if assert.Len(t, infos, 2) {
			assert.Equal(t, Info{Spec: "Stage Keys 20:0", Name: "Stage Keys 20:0"}, infos[0])
		}
	}
	_, err = list("fails")
	assert.ErrorContains(t, err, "no sequencer")
	_, err = list("crash")
	assert.ErrorContains(t, err, "segmentation fault")
	infos, err = list("not JSON")
	assert.ErrorIs(t, err, errFrame)
	assert.Len(t, infos, 1)
	infos, _ = list("flood")
	assert.NotEmpty(t, infos, "at most %d octets were to be kept", maxList)
	assert.LessOrEqual(t, len(infos), maxList/8, "at most %d octets were to be kept", maxList)
	_, err = listDriver(t.Context(), childPort(t, "mute", "").command, "--list", 300*time.Millisecond)
	assert.ErrorIs(t, err, errHang)
}

// The child goes when its parent does.
func TestChildEndsWithItsParent(t *testing.T) {
	stdin, parent := io.Pipe()
	code := make(chan int, 1)
	var out, errs bytes.Buffer
	open := func() (driver, error) { return fakeKeys(func(func([]byte)) {}), nil }
	go func() { code <- childMain([]string{"Pads"}, open, stdin, &out, &errs) }()
	parent.Close()
	select {
	case c := <-code:
		assert.Zero(t, c, "%q", out.String())
		assert.True(t, strings.HasPrefix(out.String(), "H\x0dtactus-midi 1"), "%q", out.String())
	case <-time.After(5 * time.Second):
		require.Fail(t, "the child stays behind")
	}
	assert.Equal(t, 2, childMain(nil, open, stdin, &out, &errs))
	assert.Contains(t, errs.String(), "usage")
}

func TestFindPort(t *testing.T) {
	keys := []string{"Stage Keys MIDI 1 20:0", "Stage Keys MIDI 2 20:1", "Pads 24:0", "", "Nano 2", "Twin 28:0", "Twin 32:0"}
	for want, index := range map[string]int{
		"Stage Keys MIDI 1 20:0": 0, "stage keys midi 2": 1, "Stage Keys MIDI 2 128:7": 1,
		"Pads": 2, "pads 99:1": 2, "Pads 3": 2, "Nano": 4, "nano 1": 4, "Twin 32:0": 6,
	} {
		got, err := findPort(want, keys)
		assert.NoError(t, err, "%q", want)
		assert.Equal(t, index, got, "%q", want)
	}
	for want, fault := range map[string]error{
		"Stage Keys": ErrAmbiguous, "Twin": ErrAmbiguous, "Twin 28:1": ErrAmbiguous, "": ErrSpec, "2": ErrAmbiguous, "7": ErrNoPort,
	} {
		got, err := findPort(want, keys)
		assert.ErrorIs(t, err, fault, "%q: have %d", want, got)
	}
}

func FuzzFrames(f *testing.F) {
	good := appendFrame(appendFrame(appendFrame(nil, frameHello, hello), frameMessage, "\x90\x3C\x40"), frameHeartbeat, "")
	f.Add(good, 3)
	f.Add([]byte("RtMidi: error\n"), 1)
	f.Add(appendFrame(nil, frameError, strings.Repeat("x", 300)), 100)
	f.Fuzz(func(t *testing.T, in []byte, cut int) {
		read := func(pieces ...[]byte) (out []byte, _ error) {
			var fr frameReader
			for _, p := range pieces {
				err := fr.add(p, func(kind byte, body []byte) error {
					out = appendFrame(out, kind, string(body))
					return nil
				})
				if err != nil {
					return out, err
				}
			}
			return out, nil
		}
		whole, err := read(in)
		require.True(t, bytes.HasPrefix(in, whole), "% X read as % X", in, whole)
		if err != nil {
			require.ErrorIs(t, err, errFrame)
		}
		cut = min(max(cut, 0), len(in))
		pieces, perr := read(in[:cut], in[cut:])
		require.Equal(t, string(pieces), string(whole), "% X cut at %d: %v", in, cut, perr)
		require.Equal(t, perr == nil, err == nil, "% X cut at %d: %v", in, cut, perr)
	})
}
