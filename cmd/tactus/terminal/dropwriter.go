package terminal

import (
	"bytes"
	"context"
	"io"
	"os"
	"sync"
)

// maxQueued is how many bytes wait for a terminal or a pipe that is not read: about a
// thousand lines.
const maxQueued = 128 << 10

// DropWriter writes to a file in a goroutine of its own, so that whoever writes never
// waits for a terminal that has stopped (Ctrl-S, a stalled remote shell) or for a full
// pipe. Text that its queue has no room for is dropped and counted; the count is told
// in its place as soon as the file takes text again.
type DropWriter struct {
	to   io.Writer
	tell func(to io.Writer, lost int)
	wake chan struct{} // something was queued, or the writer was closed
	done chan struct{} // closed when the queue is empty after Close

	mu     sync.Mutex
	queue  []queuedText
	queued int // bytes in queue
	lost   int // texts dropped since the last that was queued
	closed bool
}

// queuedText is the text of one Write, and how many before it were dropped.
type queuedText struct {
	lost int
	text []byte
}

// NewDropWriter starts a writer to a file. tell writes to the file how many texts
// were lost.
func NewDropWriter(to io.Writer, tell func(to io.Writer, lost int)) *DropWriter {
	d := &DropWriter{to: to, tell: tell, wake: make(chan struct{}, 1), done: make(chan struct{})}
	go d.run()
	return d
}

// Write queues b, or drops all of it. It never waits and returns no error. After Close
// it drops everything.
func (d *DropWriter) Write(b []byte) (int, error) {
	d.mu.Lock()
	switch {
	case d.closed:
	case d.queued+len(b) > maxQueued:
		d.lost++
	default:
		d.queue = append(d.queue, queuedText{d.lost, bytes.Clone(b)})
		d.queued, d.lost = d.queued+len(b), 0
	}
	d.mu.Unlock()
	d.signal()
	return len(b), nil
}

// Close waits until everything queued is written, or until ctx ends.
func (d *DropWriter) Close(ctx context.Context) {
	d.mu.Lock()
	d.closed = true
	d.mu.Unlock()
	d.signal()
	select {
	case <-d.done:
	case <-ctx.Done():
	}
}

// File returns the file behind the writer; ok is false when it is none.
func (d *DropWriter) File() (file *os.File, ok bool) {
	file, ok = d.to.(*os.File)
	return file, ok
}

func (d *DropWriter) signal() {
	select {
	case d.wake <- struct{}{}:
	default:
	}
}

// run writes until the writer is closed and its queue empty. Errors of the file are
// ignored: there is nowhere else to tell them.
func (d *DropWriter) run() {
	defer close(d.done)
	for {
		next, closed := d.take()
		if next.lost > 0 {
			d.tell(d.to, next.lost)
		}
		switch {
		case next.text != nil:
			_, _ = d.to.Write(next.text)
		case closed:
			return
		case next.lost == 0:
			<-d.wake
		}
	}
}

// take removes the first text from the queue. Without one it returns how many texts
// were dropped.
func (d *DropWriter) take() (next queuedText, closed bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.queue) == 0 {
		next.lost, d.lost = d.lost, 0
		return next, d.closed
	}
	next = d.queue[0]
	d.queue[0] = queuedText{} // its text is not kept by the array
	d.queue = d.queue[1:]
	d.queued -= len(next.text)
	return next, false
}
