package midi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"sync/atomic"
	"time"
)

// childSink is an output of the operating system's driver, held by a child
// process that gets its messages as frames on standard input. The child's
// hello and heartbeats come back; when they cease it is killed, which also
// ends a Write that waits for its pipe.
type childSink struct {
	name  string
	stop  context.CancelFunc
	cmd   *exec.Cmd
	stdin io.WriteCloser
	said  *capped
	done  chan struct{} // closed when the child has ended
	why   error         // then: what it said
	buf   []byte
}

// openChildSink starts the child and waits until its port is open.
func openChildSink(ctx context.Context, command []string, name string) (sink, error) {
	fail := func(err error) error { return fmt.Errorf("midi: port %q: %w", name, err) }
	// What waits in the queue when ctx ends still goes out, so the child ends
	// by its input's end, not by ctx.
	live, stop := context.WithCancel(context.WithoutCancel(ctx))
	cmd, err := childCommand(live, command, "--out", name)
	if err != nil {
		stop()
		return nil, fail(err)
	}
	s := &childSink{name: name, stop: stop, cmd: cmd, said: &capped{max: maxSaid}, done: make(chan struct{})}
	cmd.Stderr = s.said
	var stdout io.Reader
	if s.stdin, err = cmd.StdinPipe(); err == nil {
		stdout, err = cmd.StdoutPipe()
	}
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		stop()
		return nil, fail(err)
	}
	began := make(chan struct{})
	go s.listen(stdout, began)
	select {
	case <-began:
		return s, nil
	case <-ctx.Done():
		s.Close()
		return nil, fail(ctx.Err())
	case <-s.done:
		s.Close()
		return nil, fail(s.why)
	}
}

// listen reads the child's frames until it ends, and kills one that hangs.
func (s *childSink) listen(stdout io.Reader, began chan<- struct{}) {
	defer close(s.done)
	var hung atomic.Bool
	watchdog := time.AfterFunc(helloWithin, func() {
		hung.Store(true)
		s.stop()
	})
	defer watchdog.Stop()
	var f frames
	var buf [512]byte
	err := errEnded
	for reading := true; reading; {
		n, rerr := stdout.Read(buf[:])
		ferr := f.add(buf[:n], func(kind byte, body []byte) error {
			switch kind {
			case frameHello:
				close(began)
			case frameError:
				return errors.New(printable(body))
			}
			return nil
		})
		switch {
		case ferr != nil:
			err, reading = ferr, false
		case rerr != nil:
			reading = false
		case f.began:
			watchdog.Reset(hangAfter)
		}
	}
	s.stop()
	waited := s.cmd.Wait()
	switch {
	case hung.Load():
		err = errHang
	case errors.Is(err, errEnded) && waited != nil:
		err = fmt.Errorf("%w: %v", errEnded, waited)
	}
	if text := s.said.text(); text != "" {
		err = fmt.Errorf("%w (it said: %s)", err, text)
	}
	s.why = err
}

// Write hands one message to the child.
func (s *childSink) Write(b []byte) (int, error) {
	s.buf = appendFrame(s.buf[:0], frameMessage, string(b))
	select {
	case <-s.done:
		return 0, fmt.Errorf("midi: port %q: %w", s.name, s.why)
	default:
	}
	if _, err := s.stdin.Write(s.buf); err != nil {
		s.stop()
		<-s.done
		return 0, fmt.Errorf("midi: port %q: %w", s.name, s.why)
	}
	return len(b), nil
}

// Close ends the child's input, after which it sends what it has got and goes;
// if it does not go soon it is killed.
func (s *childSink) Close() error {
	_ = s.stdin.Close() // a child that is gone has closed it
	patience := time.AfterFunc(time.Second, s.stop)
	<-s.done
	patience.Stop()
	s.stop()
	return nil
}
