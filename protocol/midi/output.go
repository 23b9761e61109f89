package midi

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"

	"tactus/clock"
)

// Output is a port that sends MIDI: a bounded queue, and a goroutine (Run) that
// writes it. While a port is missing or stuck, messages are counted as lost, and Run
// tries to open the port again.
type Output struct {
	name   string
	open   func(context.Context) (sink, error)
	queue  chan Message
	base   clock.Base
	report func(Status)

	sent, lost atomic.Uint64

	// Used by Run's goroutine only.
	up      bool
	stuck   bool // closed because writes timed out: counts as open after the next successful write
	lastErr string
}

// sink is an open port. Write sends one whole message within about
// writeWithin, or fails; a sink that has failed is closed.
type sink interface {
	Write(b []byte) (int, error)
	Close() error
}

// OutputOptions are the choices for [OpenOutput]. The zero value is usable.
type OutputOptions struct {
	Queue  int          // messages that may wait, at least 8; 0 is 256
	Child  []string     // command that runs ChildMain; nil is this program with "midi-child"
	Base   clock.Base   // stamps the reports
	Report func(Status) // called when the port opens or is lost; must not block; may be nil
}

// OutputStats counts messages.
type OutputStats struct {
	Sent uint64 // written to the port
	Lost uint64 // dropped because the queue was full or the port was missing
}

const defaultQueue = 256

// OpenOutput returns the output that spec names:
//
//	file:PATH    a file or FIFO that gets the raw octets; the file is created if missing
//	-            standard output, raw octets
//	/dev/…, a/b  anything with a slash, or that exists: a raw device or FIFO
//	NAME         a port of the operating system's driver
//
// Run opens the port, so a missing port is no error here.
func OpenOutput(spec string, o OutputOptions) (*Output, error) {
	path, isFile := strings.CutPrefix(spec, "file:")
	switch {
	case strings.TrimSpace(spec) == "", isFile && path == "":
		return nil, ErrSpec
	case isFile:
		return newOutput(spec, o, func(context.Context) (sink, error) { return openRawSink(path, true) }), nil
	case spec == "-" || strings.ContainsAny(spec, `/\`) || exists(spec):
		return newOutput(spec, o, func(context.Context) (sink, error) { return openRawSink(spec, false) }), nil
	case !haveDriver && o.Child == nil:
		return nil, fmt.Errorf("midi: port %q: %w", spec, ErrNoDriver)
	}
	return newOutput(spec, o, func(ctx context.Context) (sink, error) { return openChildSink(ctx, o.Child, o.Base, spec) }), nil
}

func newOutput(name string, o OutputOptions, open func(context.Context) (sink, error)) *Output {
	if o.Queue == 0 {
		o.Queue = defaultQueue
	}
	if o.Report == nil {
		o.Report = func(Status) {}
	}
	return &Output{name: name, open: open, queue: make(chan Message, max(o.Queue, 8)), base: o.Base, report: o.Report}
}

// Name returns the spec that the port was opened with.
func (o *Output) Name() string { return o.name }

// Stats returns the counts so far. Any goroutine may call it.
func (o *Output) Stats() OutputStats { return OutputStats{Sent: o.sent.Load(), Lost: o.lost.Load()} }

// Send queues m, or drops and counts it and returns false. It never waits and
// allocates nothing; any goroutine may call it. Note-ons may not use the last
// quarter of the queue: a missing note is better than one that never ends.
func (o *Output) Send(m Message) bool {
	full := m.Kind() == NoteOn && len(o.queue) >= cap(o.queue)*3/4
	if !full && m.Len > 0 {
		select {
		case o.queue <- m:
			return true
		default:
		}
	}
	o.lost.Add(1)
	return false
}

// Run writes the queue until ctx ends, then the rest of the queue, and returns
// ctx.Err(). Call it once.
func (o *Output) Run(ctx context.Context) error {
	retry := firstRetry
	for {
		good, err := o.session(ctx)
		if ctx.Err() != nil {
			o.discard()
			return ctx.Err()
		}
		o.closed(err)
		if good {
			retry = firstRetry
		}
		if !waitFor(ctx, retry) {
			o.discard()
			return ctx.Err()
		}
		// Messages queued while the port was missing are too late now: a click or
		// cue seconds after its beat is worse than none.
		o.discard()
		retry = min(retry*2, lastRetry)
	}
}

// session opens the port and writes until it fails; good means that a message was
// written.
func (o *Output) session(ctx context.Context) (good bool, err error) {
	s, err := o.open(ctx)
	if err != nil {
		return false, err
	}
	defer s.Close()
	if !o.stuck {
		o.opened()
	}
	var buf [3]byte
	for {
		var m Message
		select {
		case m = <-o.queue:
		case <-ctx.Done():
			select { // sends the rest of the queue, mostly note-offs
			case m = <-o.queue:
			default:
				return good, ctx.Err()
			}
		}
		if _, err := s.Write(m.AppendTo(buf[:0])); err != nil {
			o.lost.Add(1)
			return good, err
		}
		o.sent.Add(1)
		good = true
		o.opened()
	}
}

// discard empties the queue.
func (o *Output) discard() {
	for {
		select {
		case <-o.queue:
			o.lost.Add(1)
		default:
			return
		}
	}
}

func (o *Output) opened() {
	if !o.up {
		o.up, o.lastErr = true, ""
		o.report(Status{Port: o.name, Up: true, At: o.base.Now()})
	}
}

// closed reports the port as down. An error that repeats is reported once.
func (o *Output) closed(err error) {
	o.stuck = errors.Is(err, errStuck)
	if o.up || err.Error() != o.lastErr {
		o.report(Status{Port: o.name, Err: err, At: o.base.Now()})
	}
	o.up, o.lastErr = false, err.Error()
}

// writeWithin is the longest that writing a message may take, in milliseconds. Three
// octets need 1 ms on a MIDI cable.
const writeWithin = 250

// errStuck means that a write timed out.
var errStuck = errors.New("the port accepts no more data")
