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
	// Name is the name of the port for people.
	Name() string
	// Run reads into the inbox until ctx ends and then returns ctx.Err(). It reports
	// a lost port and opens it again until ctx ends. Only at the end of a file it
	// returns nil. Call it once.
	Run(ctx context.Context, in *Inbox) error
}

// Options are the choices for [Open]. The zero value is usable.
type Options struct {
	Number  uint8    // Message.Port
	Loop    bool     // repeat a file
	Preroll int      // quarter notes of clock before a file's Start, 0..64
	FS      fs.FS    // file system for file: specs; nil is the operating system's
	Child   []string // command that runs ChildMain; nil is this program with "midi-child"
}

// ErrSpec means that the name of a port is empty.
var ErrSpec = errors.New("midi: empty port name")

// Open returns the port that spec names:
//
//	file:PATH    a Standard MIDI File, played in real time
//	-            standard input, a raw byte stream
//	/dev/…, a/b  anything with a slash, or that exists: a raw byte stream
//	NAME         a port of the operating system's driver
//
// Open reads files at once. Run opens devices and drivers and waits for them, so a
// missing device is no error here.
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

// inputPort parses the octets of one port into an inbox, and reports when the port
// opens and closes.
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

// putBytes puts the messages in b into the inbox, all stamped at.
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
	l.stream = Stream{} // running status does not continue after a gap
	l.up, l.lastErr = false, err.Error()
}

// runSessions calls session repeatedly until ctx ends. A session returns why the
// port closed, never nil.
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
