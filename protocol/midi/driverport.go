package midi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"sync/atomic"
	"time"
)

// DriverPort is a port of the operating system's driver, held by a child
// process that pipes its messages here. What arrives is stamped here.
type DriverPort struct {
	want    string
	number  uint8
	command []string

	helloWithin, hangAfter time.Duration
}

// NewDriverPort returns the port that want names: the whole name, the name
// without its trailing numbers, or a part that only one port has. Nothing is
// started before Run.
func NewDriverPort(want string, o Options) *DriverPort {
	return &DriverPort{want: want, number: o.Number, command: o.Child, helloWithin: helloWithin, hangAfter: hangAfter}
}

// Name returns the name that was asked for.
func (p *DriverPort) Name() string { return p.want }

// Run starts the child, and starts it again whenever it ends, hangs or sends
// garbage.
func (p *DriverPort) Run(ctx context.Context, in *Inbox) error {
	l := newLink(in, p.want, p.number)
	return l.keep(ctx, func() error {
		if err := p.session(ctx, l); err != nil {
			return fmt.Errorf("midi: port %q: %w", p.want, err)
		}
		return ctx.Err()
	})
}

var (
	errHang  = errors.New("the driver hung")
	errEnded = errors.New("the driver process ended")
)

// session runs one child from its start to its end.
func (p *DriverPort) session(ctx context.Context, l *link) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	cmd, err := childCommand(ctx, p.command, p.want)
	if err != nil {
		return err
	}
	said := &capped{max: maxSaid}
	cmd.Stderr = said
	stdin, err := cmd.StdinPipe() // held open: its end tells the child to go
	if err != nil {
		return err
	}
	defer stdin.Close()
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	err = p.read(cancel, stdout, l)
	cancel() // kills it if it still runs
	wait := cmd.Wait()
	if errors.Is(err, io.EOF) {
		err = errEnded
		if wait != nil {
			err = fmt.Errorf("%w: %v", errEnded, wait)
		}
	}
	if text := said.text(); text != "" {
		err = fmt.Errorf("%w (it said: %s)", err, text)
	}
	return err
}

// read takes frames until the child ends, fails or hangs; stop kills it.
func (p *DriverPort) read(stop func(), stdout io.Reader, l *link) error {
	var hung atomic.Bool
	watchdog := time.AfterFunc(p.helloWithin, func() {
		hung.Store(true)
		stop()
	})
	defer watchdog.Stop()
	var f frames
	var buf [512]byte
	for {
		n, err := stdout.Read(buf[:])
		at := l.in.base.Now()
		if n > 0 {
			ferr := f.add(buf[:n], func(kind byte, body []byte) error {
				switch kind {
				case frameHello:
					l.opened()
				case frameMessage:
					l.bytes(body, at)
				case frameError:
					return errors.New(printable(body))
				}
				return nil
			})
			if ferr != nil {
				return ferr
			}
			if f.began {
				watchdog.Reset(p.hangAfter)
			}
		}
		switch {
		case hung.Load():
			return errHang
		case err != nil:
			return io.EOF
		}
	}
}

// childCommand makes the command that runs ChildMain with arguments.
func childCommand(ctx context.Context, command []string, arg ...string) (*exec.Cmd, error) {
	if command == nil {
		self, err := os.Executable()
		if err != nil {
			return nil, err
		}
		command = []string{self, "midi-child"}
	}
	args := append(append([]string(nil), command[1:]...), arg...)
	cmd := exec.CommandContext(ctx, command[0], args...)
	cmd.WaitDelay = time.Second // a grandchild must not hold the pipes
	return cmd, nil
}

// capped keeps the first max octets of what is written and drops the rest, so
// that a child gone wild fills no memory.
type capped struct {
	max int
	b   []byte
}

// What is kept of a child's standard error, and of its list of ports.
const (
	maxSaid = 400
	maxList = 1 << 20
)

// Write never fails. It is called by one goroutine, which has ended when
// exec.Cmd.Wait returns.
func (c *capped) Write(b []byte) (int, error) {
	c.b = append(c.b, b[:min(len(b), c.max-len(c.b))]...)
	return len(b), nil
}

func (c *capped) text() string { return printable(c.b) }
