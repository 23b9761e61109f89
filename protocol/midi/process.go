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

	"tactus/clock"
)

// How long a child may be silent before it is killed.
const (
	helloWithin = 10 * time.Second // at the start: the system may start its MIDI server first
	hangAfter   = 2 * time.Second  // later: four heartbeats
)

var (
	errHang  = errors.New("the driver does not answer")
	errEnded = errors.New("the driver process ended")
)

// process is a child that runs ChildMain, as its parent sees it.
type process struct {
	cmd    *exec.Cmd
	kill   context.CancelFunc
	stdin  io.WriteCloser // closing it ends the child
	stdout io.Reader
	stderr *firstOctets // on standard error

	helloWithin, hangAfter time.Duration
}

// startProcess starts a child with arguments of ChildMain. It is killed when ctx
// ends. The caller must call listen.
func startProcess(ctx context.Context, command []string, args ...string) (*process, error) {
	ctx, kill := context.WithCancel(ctx)
	cmd, err := childCommand(ctx, command, args...)
	if err != nil {
		kill()
		return nil, err
	}
	p := &process{cmd: cmd, kill: kill, stderr: &firstOctets{limit: maxSaid}, helloWithin: helloWithin, hangAfter: hangAfter}
	cmd.Stderr = p.stderr
	if p.stdin, err = cmd.StdinPipe(); err == nil {
		p.stdout, err = cmd.StdoutPipe()
	}
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		kill()
		return nil, err
	}
	return p, nil
}

// listen calls handle for each hello and message of the child, with the time at
// which it was read, until the child ends. It kills a child that hangs, fails or
// sends garbage, and returns why it ended, never nil.
func (p *process) listen(base clock.Base, handle func(kind byte, body []byte, at clock.Time)) error {
	var hung atomic.Bool
	watchdog := time.AfterFunc(p.helloWithin, func() {
		hung.Store(true)
		p.kill()
	})
	defer watchdog.Stop()
	var f frameReader
	var buf [512]byte
	err := error(nil)
	for err == nil {
		n, rerr := p.stdout.Read(buf[:])
		at := base.Now()
		err = f.add(buf[:n], func(kind byte, body []byte) error {
			if kind == frameError {
				return errors.New(printable(body))
			}
			handle(kind, body, at)
			return nil
		})
		if err == nil && rerr != nil {
			err = errEnded
		}
		if f.began && n > 0 {
			watchdog.Reset(p.hangAfter)
		}
	}
	p.kill()
	waited := p.cmd.Wait()
	switch {
	case hung.Load():
		err = errHang
	case errors.Is(err, errEnded) && waited != nil:
		err = fmt.Errorf("%w: %v", errEnded, waited)
	}
	if text := p.stderr.text(); text != "" {
		err = fmt.Errorf("%w (its error output: %s)", err, text)
	}
	return err
}

// childCommand makes the command that runs ChildMain with arguments.
func childCommand(ctx context.Context, command []string, args ...string) (*exec.Cmd, error) {
	if command == nil {
		self, err := os.Executable()
		if err != nil {
			return nil, err
		}
		command = []string{self, "midi-child"}
	}
	cmd := exec.CommandContext(ctx, command[0], append(command[1:len(command):len(command)], args...)...)
	cmd.WaitDelay = time.Second // a grandchild must not hold the pipes
	return cmd, nil
}

// Limits of a child's stored standard error, and of its list of ports.
const (
	maxSaid = 400
	maxList = 1 << 20
)

// firstOctets stores the first octets written and drops the rest, which limits the
// memory used.
type firstOctets struct {
	limit int
	b     []byte
}

// Write never fails. It is called by one goroutine, which has ended when
// exec.Cmd.Wait returns.
func (c *firstOctets) Write(b []byte) (int, error) {
	c.b = append(c.b, b[:min(len(b), c.limit-len(c.b))]...)
	return len(b), nil
}

func (c *firstOctets) text() string { return printable(c.b) }
