package midi

import (
	"context"
	"fmt"
	"time"

	"tactus/clock"
)

// DriverPort is a port of the operating system's driver. A child process holds it
// and sends its messages through a pipe; this process stamps them.
type DriverPort struct {
	want    string
	number  uint8
	command []string

	helloWithin, hangAfter time.Duration
}

// NewDriverPort returns the port that want names: the whole name, the name without
// its trailing numbers, or a part that only one port has. Run starts the child.
func NewDriverPort(want string, o Options) *DriverPort {
	return &DriverPort{want: want, number: o.Number, command: o.Child, helloWithin: helloWithin, hangAfter: hangAfter}
}

// Name returns the name given to NewDriverPort.
func (p *DriverPort) Name() string { return p.want }

// Run starts the child, and restarts it when it ends, hangs or sends garbage.
func (p *DriverPort) Run(ctx context.Context, in *Inbox) error {
	l := newInputPort(in, p.want, p.number)
	return l.runSessions(ctx, func() error {
		if err := p.session(ctx, l); err != nil {
			return fmt.Errorf("midi: port %q: %w", p.want, err)
		}
		return ctx.Err()
	})
}

// session runs one child from its start to its end.
func (p *DriverPort) session(ctx context.Context, l *inputPort) error {
	child, err := startProcess(ctx, p.command, p.want)
	if err != nil {
		return err
	}
	defer child.stdin.Close()
	child.helloWithin, child.hangAfter = p.helloWithin, p.hangAfter
	return child.listen(l.in.base, func(kind byte, body []byte, at clock.Time) {
		switch kind {
		case frameHello:
			l.opened()
		case frameMessage:
			l.putBytes(body, at)
		}
	})
}
