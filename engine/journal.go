package engine

import (
	"hash/crc32"
	"sync/atomic"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// RecordKind is the kind of a Record. Journals on disk have names, not numbers.
type RecordKind uint8

// The kinds of record: all that came in, and checks of what went out.
const (
	RecordEvent        RecordKind = iota + 1 // Event went to the clock
	RecordCommand                            // Command went to the show
	RecordMasterMove                         // the loop moved the grand master to Command.Level over Command.Over
	RecordFrame                              // a frame was sent: Frame, Sum, Missed, Errors
	RecordDelayedFrame                       // it was sent to universes with less lead: Frame, Delay
	RecordGap                                // Count records before this one did not fit in the queue
	RecordDropped                            // Count messages of an input did not fit in its queue
	RecordEnd                                // the outputs closed
	RecordReload                             // an edited program was taken over after the frame before
	RecordLevels                             // Levels of an input went to the show
	NumRecords                               // of kinds that journals on disk have
	RecordCheckpoint                         // Checkpoint has the state after the frames and records before; only in the queue
)

// Record is one line of a journal: what the loop did at a moment.
type Record struct {
	Kind    RecordKind
	At      clock.Time // when the loop did it; its light is for At plus the lead
	Event   clock.Event
	Command Command
	Frame   uint64     // counted from 0
	Sum     uint32     // Sum of its universes
	Missed  uint64     // frames skipped just before it
	Errors  uint64     // outputs that refused it
	Delay   clock.Time // longest lead minus that of these universes
	Count   uint64
	// NoteAt is when Command came, if it is a note of the DAW that leads the tempo; else 0.
	// See Input.At. Journals on disk do not have it.
	NoteAt     clock.Time
	Checkpoint []byte      // nobody changes it
	Levels     InputLevels // the slots that changed
}

// Journal is a bounded queue of records. The loop adds them without waiting or
// allocating; another goroutine reads them. While it is full, records are dropped and
// counted, and then a RecordGap has their number.
type Journal struct {
	queue chan Record
	gap   atomic.Uint64
	also  *Journal // gets the same records
}

// NewJournal makes a queue for size records, at least 1.
func NewJournal(size int) *Journal { return &Journal{queue: make(chan Record, max(size, 1))} }

// Records returns the records in order. Close closes the channel.
func (j *Journal) Records() <-chan Record { return j.queue }

// Tee has another journal get the records that follow, too. One that is full loses its
// own only. Call it before the first record.
func (j *Journal) Tee(also *Journal) { j.also = also }

// Append adds a record. A nil Journal ignores it.
func (j *Journal) Append(r *Record) {
	if j == nil {
		return
	}
	j.also.Append(r)
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

// Close closes the queue. Append must not be called after it.
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
