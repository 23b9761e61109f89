package midi

import (
	"context"
	"fmt"
	"time"

	"tactus/clock"
)

// childSink is an output of the operating system's driver, held by a child
// process that gets its messages as frames on standard input.
type childSink struct {
	name  string
	child *process
	done  chan struct{} // closed when the child has ended
	err   error         // then: why
	buf   []byte
}

// openChildSink starts the child and waits until its port is open.
func openChildSink(ctx context.Context, command []string, base clock.Base, name string) (sink, error) {
	// What waits in the queue when ctx ends still goes out, so the child ends
	// by its input's end, not by ctx.
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

// Write hands one message to the child. A child that hangs is killed, which also
// ends a Write that waits for its pipe.
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

// Close ends the child's input, after which it sends what it has got and goes;
// if it does not go soon it is killed.
func (s *childSink) Close() error {
	_ = s.child.stdin.Close() // a child that is gone has closed it
	patience := time.AfterFunc(time.Second, s.child.kill)
	<-s.done
	patience.Stop()
	return nil
}
