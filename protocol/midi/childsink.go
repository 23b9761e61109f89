package midi

import (
	"context"
	"fmt"
	"time"

	"tactus/clock"
)

// childSink is an output of the operating system's driver. A child process holds it
// and gets messages as frames on standard input.
type childSink struct {
	name  string
	child *process
	done  chan struct{} // closed when the child has ended
	err   error         // why the child ended; set before done is closed
	buf   []byte
}

// openChildSink starts the child and waits until its port is open.
func openChildSink(ctx context.Context, command []string, base clock.Base, name string) (sink, error) {
	// The child ends when its input ends, not with ctx: messages in the queue at
	// that time are still sent.
	child, err := startProcess(context.WithoutCancel(ctx), command, "--out", name)
	if err != nil {
		return nil, fmt.Errorf("midi: port %q: %w", name, err)
	}
	s := &childSink{name: name, child: child, done: make(chan struct{})}
	began := make(chan struct{})
	go func() {
		defer close(s.done)
		err := child.listen(base, func(kind byte, _ []byte, _ clock.Time) {
			if kind == frameHello {
				close(began)
			}
		})
		s.err = fmt.Errorf("midi: port %q: %w", name, err)
	}()
	select {
	case <-began:
		return s, nil
	case <-ctx.Done():
		err = fmt.Errorf("midi: port %q: %w", name, ctx.Err())
	case <-s.done:
		err = s.err
	}
	s.Close()
	return nil, err
}

// Write sends one message to the child. It kills a child that hangs, which also ends
// a Write that waits for the pipe.
func (s *childSink) Write(b []byte) (int, error) {
	s.buf = appendFrame(s.buf[:0], frameMessage, string(b))
	select {
	case <-s.done:
		return 0, s.err
	default:
	}
	if _, err := s.child.stdin.Write(s.buf); err != nil {
		s.child.kill()
		<-s.done
		return 0, s.err
	}
	return len(b), nil
}

// Close ends the child's input. The child sends the rest and ends; it is killed if
// that takes too long.
func (s *childSink) Close() error {
	_ = s.child.stdin.Close() // fails if the child has already ended
	patience := time.AfterFunc(time.Second, s.child.kill)
	<-s.done
	patience.Stop()
	return nil
}
