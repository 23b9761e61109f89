package midi

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"sync"
	"time"
)

// Times of the conversation between parent and child.
const (
	heartbeatEvery = 500 * time.Millisecond
	portsEvery     = 4 // heartbeats between looks at the list of ports
	hangAfter      = 2 * time.Second
	helloWithin    = 10 * time.Second // systems that start their MIDI server now
)

// ChildMain is the whole of the hidden command midi-child, which holds the
// operating system's driver so that its crash or hang costs one port:
//
//	midi-child NAME         frames on standard output until standard input ends
//	midi-child --out NAME   frames on standard input are sent, until it ends
//	midi-child --list       the names of the inputs, one JSON string a line
//	midi-child --list-out   the names of the outputs
//
// It returns the exit code.
func ChildMain(args []string) int {
	return childMain(args, openDriver, os.Stdin, os.Stdout, os.Stderr)
}

func childMain(args []string, open func() (driver, error), stdin io.Reader, stdout, stderr io.Writer) int {
	out := len(args) == 2 && args[0] == "--out"
	if len(args) != 1 && !out {
		fmt.Fprintln(stderr, "usage: midi-child NAME | --out NAME | --list | --list-out")
		return 2
	}
	if args[0] == "--list" || args[0] == "--list-out" {
		if err := writeNames(open, args[0] == "--list-out", stdout); err != nil {
			fmt.Fprintln(stderr, err)
			return 1
		}
		return 0
	}
	c := &child{out: stdout}
	run := c.run
	if out {
		run = c.sendTo
	}
	if err := run(args[len(args)-1], open, stdin); err != nil {
		c.send(frameError, err.Error())
		return 1
	}
	return 0
}

func writeNames(open func() (driver, error), outputs bool, w io.Writer) error {
	d, err := open()
	if err != nil {
		return err
	}
	list := d.names
	if outputs {
		list = d.outNames
	}
	names, err := list()
	if err != nil {
		return err
	}
	enc := json.NewEncoder(w)
	for _, name := range names {
		if err := enc.Encode(name); err != nil {
			return err
		}
	}
	return nil
}

// child is the sending end. The driver's thread and the heartbeat share it.
type child struct {
	mu  sync.Mutex
	out io.Writer
	buf []byte
	err error
}

// send writes one frame in one write.
func (c *child) send(kind byte, body string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.buf = appendFrame(c.buf[:0], kind, body)
	if _, err := c.out.Write(c.buf); err != nil && c.err == nil {
		c.err = err
	}
}

func (c *child) sendErr() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.err
}

var errUnplugged = errors.New("the port has gone from the system's list")

// run opens the port, then beats. The beat looks at the system's list from
// time to time: a driver that hangs stops the beat, and a port that was
// unplugged is missing, which is often the only sign of it.
func (c *child) run(want string, open func() (driver, error), stdin io.Reader) error {
	d, err := open()
	if err != nil {
		return err
	}
	names, err := d.names()
	if err != nil {
		return err
	}
	index, err := findPort(want, names)
	if err != nil {
		return err
	}
	name := names[index]
	began := make(chan struct{})
	err = d.listen(index, func(b []byte) {
		<-began // hello comes first
		c.send(frameMessage, string(b))
	})
	if err != nil {
		return err
	}
	c.send(frameHello, hello)
	close(began)

	// The parent holds the other end of stdin; when it dies, so do we.
	orphan := make(chan struct{})
	go func() {
		_, _ = io.Copy(io.Discard, stdin)
		close(orphan)
	}()
	return c.beat(d, name, orphan)
}

func (c *child) beat(d driver, name string, orphan <-chan struct{}) error {
	tick := time.NewTicker(heartbeatEvery)
	defer tick.Stop()
	for n := 1; ; n++ {
		select {
		case <-orphan:
			return nil
		case <-tick.C:
		}
		if n%portsEvery == 0 {
			names, err := d.names()
			if err != nil {
				return err
			}
			if !slices.Contains(names, name) {
				return fmt.Errorf("%q: %w", name, errUnplugged)
			}
		}
		c.send(frameHeartbeat, "")
		if err := c.sendErr(); err != nil {
			return err
		}
	}
}
