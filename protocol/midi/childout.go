package midi

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"
	"time"
)

// sendTo is the child's other half: it opens an output port and sends what
// comes as message frames on stdin, until that ends. A driver that hangs in a
// send holds up the heartbeat, so that the parent kills the process.
func (c *child) sendTo(want string, open func() (driver, error), stdin io.Reader) error {
	d, err := open()
	if err != nil {
		return err
	}
	names, err := d.outNames()
	if err != nil {
		return err
	}
	index, err := findPort(want, names)
	if err != nil {
		return err
	}
	send, err := d.openOut(index)
	if err != nil {
		return err
	}
	c.send(frameHello, hello)
	var driving sync.Mutex // one call into the driver at a time
	ended := make(chan error, 1)
	go func() {
		ended <- forward(stdin, func(b []byte) error {
			driving.Lock()
			defer driving.Unlock()
			return send(b)
		})
	}()
	tick := time.NewTicker(heartbeatEvery)
	defer tick.Stop()
	for n := 1; ; n++ {
		select {
		case err := <-ended:
			return err
		case <-tick.C:
		}
		driving.Lock()
		if n%portsEvery == 0 {
			now, err := d.outNames()
			if err != nil {
				return err
			}
			if !slices.Contains(now, names[index]) {
				return fmt.Errorf("%q: %w", names[index], errUnplugged)
			}
		}
		driving.Unlock()
		c.send(frameHeartbeat, "")
		if err := c.sendErr(); err != nil {
			return err
		}
	}
}

// forward sends the body of each message frame until r ends.
func forward(r io.Reader, send func([]byte) error) error {
	f := frames{began: true} // the parent says no hello
	var buf [512]byte
	for {
		n, err := r.Read(buf[:])
		if ferr := f.add(buf[:n], func(_ byte, body []byte) error { return send(body) }); ferr != nil {
			return ferr
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}
