package engine

import (
	"hash/crc32"
	"sync/atomic"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// RecordKind says what a Record tells. Journals on disk go by names, not numbers.
type RecordKind uint8

// The kinds of record: what came in, from which all else follows, and checks.
const (
	RecordEvent        RecordKind = iota + 1 // Event went to the clock
	RecordCommand                            // Command went to the show
	RecordMasterMove                         // the loop itself moved the grand master to Command.Level over Command.Over
	RecordFrame                              // a frame left: Frame, Sum, Missed, Errors
	RecordDelayedFrame                       // a frame left once more, for universes with less lead: Frame, Delay
	RecordGap                                // Count records before this one did not fit and are gone
	RecordDropped                            // Count messages of an input did not fit and are gone
	RecordEnd                                // the outputs closed
	RecordReload                             // the show was edited: after the frame before it goes on with another program
	NumRecords
)

// Record is one line of a journal: something that the loop did at a moment.
type Record struct {
	Kind    RecordKind
	At      clock.Time // when the loop did it; the light is for its lead later
	Event   clock.Event
	Command Command
	Frame   uint64     // counted from 0
	Sum     uint32     // Sum of its universes
	Missed  uint64     // frames skipped just before it
	Errors  uint64     // outputs that refused it
	Delay   clock.Time // how much less lead than the longest
	Count   uint64
}

// Journal takes records from the loop without waiting or allocating: a bounded
// queue that somebody else empties. When it is full, records are counted
// instead, and a Gap tells how many as soon as there is room.
type Journal struct {
	queue chan Record
	gap   atomic.Uint64
}

// NewJournal makes a queue for size records; at least 1.
func NewJournal(size int) *Journal { return &Journal{queue: make(chan Record, max(size, 1))} }

// Records is where they come out, in order. It is closed by Close.
func (j *Journal) Records() <-chan Record { return j.queue }

// Append takes a record. A nil Journal takes none.
func (j *Journal) Append(r *Record) {
	if j == nil {
		return
	}
	if n := j.gap.Load(); n > 0 {
		select {
		case j.queue <- Record{Kind: RecordGap, At: r.At, Count: n}:
			j.gap.Add(-n)
		default:
			j.gap.Add(1)
			return
		}
	}
	select {
	case j.queue <- *r:
	default:
		j.gap.Add(1)
	}
}

// Close ends the queue. Nothing may be noted after it.
func (j *Journal) Close() { close(j.queue) }

// Sum is the checksum of a frame: CRC-32C (the polynomial of RFC 3720, 12.1)
// over all slots of all universes, in order.
func Sum(u []dmx.Universe) (sum uint32) {
	castagnoli := crc32.MakeTable(crc32.Castagnoli) // made once by the library
	for i := range u {
		sum = crc32.Update(sum, castagnoli, u[i].Slots[:])
	}
	return sum
}
