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

const (
	heartbeatEvery = 500 * time.Millisecond
	portsEvery     = 4 // the list of ports is read once in so many heartbeats
)

// ChildMain runs the hidden command midi-child. It holds the operating system's
// driver, so that a crash or hang of the driver costs only one port:
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
	if err := c.run(args[len(args)-1], out, open, stdin); err != nil {
		c.writeFrame(frameError, err.Error())
		return 1
	}
	return 0
}

func writeNames(open func() (driver, error), outputs bool, w io.Writer) error {
	d, err := open()
	if err != nil {
		return err
	}
	list := d.inputNames
	if outputs {
		list = d.outputNames
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

// child writes frames to the parent. The driver's thread and the heartbeat share it.
type child struct {
	mu  sync.Mutex
	out io.Writer
	buf []byte
	err error
}

// writeFrame writes one frame in one write.
func (c *child) writeFrame(kind byte, body string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.buf = appendFrame(c.buf[:0], kind, body)
	if _, err := c.out.Write(c.buf); err != nil && c.err == nil {
		c.err = err
	}
}

func (c *child) writeError() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.err
}

var errUnplugged = errors.New("the port has gone from the system's list")

// run opens a port and works until stdin ends; the parent keeps stdin open. It sends
// heartbeats and reads the system's list of ports from time to time: an unplugged
// port is missing there, which is often the only sign of it. A driver that hangs
// stops the heartbeat, and the parent kills the process.
func (c *child) run(want string, output bool, open func() (driver, error), stdin io.Reader) error {
	d, err := open()
	if err != nil {
		return err
	}
	list := d.inputNames
	if output {
		list = d.outputNames
	}
	names, err := list()
	if err != nil {
		return err
	}
	index, err := findPort(want, names)
	if err != nil {
		return err
	}
	var driving sync.Mutex // one call into the driver at a time
	work := c.receive
	if output {
		work = c.transmit
	}
	ended, err := work(d, index, &driving, stdin)
	if err != nil {
		return err
	}
	return c.beat(names[index], ended, &driving, list)
}

// receive sends the messages of an input port as frames until stdin ends.
func (c *child) receive(d driver, index int, _ *sync.Mutex, stdin io.Reader) (<-chan error, error) {
	began := make(chan struct{})
	err := d.openInput(index, func(b []byte) {
		<-began // hello comes first
		c.writeFrame(frameMessage, string(b))
	})
	if err != nil {
		return nil, err
	}
	c.writeFrame(frameHello, hello)
	close(began)
	ended := make(chan error, 1)
	go func() {
		_, _ = io.Copy(io.Discard, stdin)
		ended <- nil
	}()
	return ended, nil
}

// transmit sends the messages in the frames on stdin to an output port until stdin
// ends.
func (c *child) transmit(d driver, index int, driving *sync.Mutex, stdin io.Reader) (<-chan error, error) {
	send, err := d.openOutput(index)
	if err != nil {
		return nil, err
	}
	c.writeFrame(frameHello, hello)
	ended := make(chan error, 1)
	go func() {
		f := frameReader{began: true} // the parent sends no hello
		var buf [512]byte
		for {
			n, err := stdin.Read(buf[:])
			ferr := f.add(buf[:n], func(_ byte, body []byte) error {
				driving.Lock()
				defer driving.Unlock()
				return send(body)
			})
			if ferr != nil || err != nil {
				if ferr == nil && !errors.Is(err, io.EOF) {
					ferr = err
				}
				ended <- ferr
				return
			}
		}
	}()
	return ended, nil
}

// beat sends heartbeats until the work ends, the port is missing from the list, or
// the parent ends.
func (c *child) beat(name string, ended <-chan error, driving *sync.Mutex, list func() ([]string, error)) error {
	tick := time.NewTicker(heartbeatEvery)
	defer tick.Stop()
	for n := 1; ; n++ {
		select {
		case err := <-ended:
			return err
		case <-tick.C:
		}
		driving.Lock() // waits for a send that hangs
		if n%portsEvery == 0 {
			names, err := list()
			if err != nil {
				return err
			}
			if !slices.Contains(names, name) {
				return fmt.Errorf("%q: %w", name, errUnplugged)
			}
		}
		driving.Unlock()
		c.writeFrame(frameHeartbeat, "")
		if err := c.writeError(); err != nil {
			return err
		}
	}
}
