package midi

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"tactus/clock"
)

// Port is a source of MIDI.
type Port interface {
	// Name is what people call the port.
	Name() string
	// Run reads into the inbox until ctx ends and then returns ctx.Err(). A
	// port that is lost is reported, and opened again until ctx ends. Only a file
	// that has been played to its end makes Run return nil. Run it once.
	Run(ctx context.Context, in *Inbox) error
}

// Options are the choices for [Open]. The zero value is usable.
type Options struct {
	Number  uint8    // Message.Port
	Loop    bool     // a file starts again at its end
	Preroll int      // a file sends clock for 0..64 quarter notes before Start
	FS      fs.FS    // where file: specs are read; nil is the file system
	Child   []string // command that runs ChildMain; nil is this program with "midi-child"
}

// ErrSpec means that the name of a port is empty.
var ErrSpec = errors.New("midi: empty port name")

// Open finds the port that spec means:
//
//	file:PATH    a Standard MIDI File, played in real time
//	-            standard input, a raw byte stream
//	/dev/…, a/b  anything with a slash, or that exists: a raw byte stream
//	NAME         a port of the operating system's driver
//
// Files are read at once. Devices and drivers are opened by Run, which waits
// for them, so a device that is not there yet is no error.
func Open(spec string, o Options) (Port, error) {
	path, isFile := strings.CutPrefix(spec, "file:")
	switch {
	case strings.TrimSpace(spec) == "":
		return nil, ErrSpec
	case isFile:
		return OpenFile(path, o)
	case spec == "-" || strings.ContainsAny(spec, `/\`) || exists(spec):
		return NewRaw(spec, o.Number), nil
	case !haveDriver && o.Child == nil:
		return nil, fmt.Errorf("midi: port %q: %w", spec, ErrNoDriver)
	}
	return NewDriverPort(spec, o), nil
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// Waits between attempts to open a lost port.
const (
	firstRetry = 100 * time.Millisecond
	lastRetry  = 2 * time.Second
)

// inputPort parses the octets of one port into an inbox, and reports whether the
// port is open.
type inputPort struct {
	in      *Inbox
	name    string
	number  uint8
	stream  Stream
	up      bool
	lastErr string
	retry   time.Duration
}

func newInputPort(in *Inbox, name string, number uint8) *inputPort {
	return &inputPort{in: in, name: name, number: number, retry: firstRetry}
}

// putBytes puts the messages in b, all stamped at.
func (l *inputPort) putBytes(b []byte, at clock.Time) {
	for _, c := range b {
		if m, ok := l.stream.Byte(c); ok {
			m.At, m.Port = at, l.number
			l.in.Put(m)
		}
	}
}

// opened reports the port as up.
func (l *inputPort) opened() {
	if l.up {
		return
	}
	l.up, l.lastErr, l.retry = true, "", firstRetry
	l.in.report(Status{Port: l.name, Number: l.number, Up: true, At: l.in.base.Now()})
}

// closed reports the port as down. An error that repeats is reported once.
func (l *inputPort) closed(err error) {
	at := l.in.base.Now()
	if l.up {
		l.in.Put(Message{At: at, Port: l.number})
	}
	if l.up || err.Error() != l.lastErr {
		l.in.report(Status{Port: l.name, Number: l.number, Err: err, At: at})
	}
	l.stream = Stream{} // no running status over a gap
	l.up, l.lastErr = false, err.Error()
}

// runSessions runs session again and again until ctx ends. A session returns why the
// port went, never nil.
func (l *inputPort) runSessions(ctx context.Context, session func() error) error {
	for {
		err := session()
		if ctx.Err() != nil {
			return ctx.Err()
		}
		l.closed(err)
		if !waitFor(ctx, l.retry) {
			return ctx.Err()
		}
		l.retry = min(l.retry*2, lastRetry)
	}
}

// waitFor returns false when ctx ended before d had passed.
func waitFor(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}
