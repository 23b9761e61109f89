package midi

import (
	"sync/atomic"

	"tactus/clock"
)

// Status reports that a port has opened, was lost, or failed in a new way.
type Status struct {
	Port   string // its name
	Number uint8  // Message.Port of its messages
	Up     bool
	Err    error // why it is down; nil when Up
	At     clock.Time
}

// Inbox is a bounded queue of received messages. It never makes a port wait. Any
// number of ports may share one.
//
// When the reader is too slow, note-ons are dropped once the queue is half full, and
// other channel messages (note-offs too) once it is three quarters full. Clock,
// transport and Lost messages may fill the rest.
type Inbox struct {
	base    clock.Base
	queue   chan Message
	report  func(Status)
	dropped atomic.Uint64
}

// NewInbox returns an inbox for size messages (at least 8; 1024 is 21 s of clock at
// 120 BPM). report is called when a port opens or is lost, in the port's goroutine;
// it must not block, and may be nil.
func NewInbox(base clock.Base, size int, report func(Status)) *Inbox {
	if report == nil {
		report = func(Status) {}
	}
	return &Inbox{base: base, queue: make(chan Message, max(size, 8)), report: report}
}

// Messages returns the queue to read from. It is never closed.
func (in *Inbox) Messages() <-chan Message { return in.queue }

// Dropped returns the number of messages dropped.
func (in *Inbox) Dropped() uint64 { return in.dropped.Load() }

// Put adds m, or drops and counts it. It never waits and allocates nothing.
func (in *Inbox) Put(m Message) {
	room := cap(in.queue)
	if m.Len > 0 && m.Bytes[0] < 0xF0 {
		room = room * 3 / 4
		if m.Kind() == NoteOn {
			room = cap(in.queue) / 2
		}
	}
	if len(in.queue) >= room {
		in.dropped.Add(1)
		return
	}
	select {
	case in.queue <- m:
	default:
		in.dropped.Add(1)
	}
}
