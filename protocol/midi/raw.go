package midi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"syscall"
)

// RawPort reads a raw MIDI byte stream: a sound device node, a FIFO, a serial
// device, or standard input.
type RawPort struct {
	path   string
	number uint8
}

// NewRaw returns the port at path; "-" is standard input. Run opens it.
func NewRaw(path string, number uint8) *RawPort { return &RawPort{path: path, number: number} }

// Name returns the path.
func (p *RawPort) Name() string { return p.path }

// Run reads until ctx ends. A FIFO is up when its first byte arrives and down
// when its writer closes it; a device is up when it is open.
func (p *RawPort) Run(ctx context.Context, in *Inbox) error {
	l := newInputPort(in, p.path, p.number)
	return l.runSessions(ctx, func() error { return p.session(ctx, l) })
}

// session reads from opening to loss.
func (p *RawPort) session(ctx context.Context, l *inputPort) error {
	src, err := openRaw(ctx, p.path)
	if err != nil {
		return withHint(p.path, err)
	}
	defer func() { src.Close() }()
	if !src.fifo {
		l.opened()
	}
	var buf [256]byte
	for {
		n, err := src.Read(buf[:])
		at := l.in.base.Now()
		if n > 0 {
			l.opened()
			l.putBytes(buf[:n], at)
		}
		switch {
		case err == nil:
		case errors.Is(err, io.EOF) && src.fifo:
			if src, err = p.reopen(ctx, l, src); err != nil {
				return err
			}
		case errors.Is(err, io.EOF):
			return fmt.Errorf("midi: %s: end of stream", p.path)
		default:
			return withHint(p.path, err)
		}
	}
}

// errGone means that the writer of a FIFO closed it. Another may open it.
var errGone = errors.New("the sender closed the stream")

// reopen waits for a FIFO's next writer. It opens the new reader before it closes
// the old one, so that a writer that opens in between is not cut off.
func (p *RawPort) reopen(ctx context.Context, l *inputPort, old *rawSource) (*rawSource, error) {
	if l.up {
		l.closed(fmt.Errorf("midi: %s: %w", p.path, errGone))
	} else if !waitFor(ctx, firstRetry/5) {
		// The writer wrote nothing, or the system reports the end of a FIFO that no
		// writer has opened: wait before the next attempt.
		return old, ctx.Err()
	}
	src, err := openRaw(ctx, p.path)
	if err != nil {
		return old, withHint(p.path, err)
	}
	old.Close()
	return src, nil
}

// withHint adds advice for the user to err.
func withHint(path string, err error) error {
	hint := ""
	switch {
	case errors.Is(err, syscall.EBUSY):
		hint = " (in use by another program)"
	case errors.Is(err, fs.ErrPermission):
		hint = " (no permission: on Linux, be in the group audio, or dialout for a serial device)"
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENODEV):
		hint = " (not plugged in?)"
	}
	return fmt.Errorf("midi: %s: %w%s", path, err, hint)
}
