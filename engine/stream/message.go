package stream

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
)

// ErrMessage is wrapped by errors about a message that cannot be right.
var ErrMessage = errors.New("stream: not a message")

// Version is that of the form; sides with different ones do not talk.
const Version = 1

// Kind is the kind of a message. The numbers never change.
type Kind uint8

// The kinds of message.
const (
	KindHello      Kind = iota + 1 // who is there: Hello
	KindState                      // where a side stands: State
	KindFollow                     // asks for Head, Show and Checkpoint; payload: the checksum of the show that the sender has, or nothing
	KindHead                       // the head of a journal
	KindShow                       // the show's files as an archive; left out where Follow had its checksum
	KindCheckpoint                 // the complete state after a frame
	KindRecord                     // Record.NoteAt in eight bytes, then a line of the journal without its line feed
	KindAskTime                    // asks for Time; payload: the asker's time
	KindTime                       // Time
	KindChangeOver                 // asks who is on the lamps to give them over
	KindYours                      // gives the lamps over: the state is that after the last record
	KindBye                        // the connection ends on purpose: Bye
	numKinds
)

const (
	headBytes = 5
	noteBytes = 8
)

// limit returns the greatest length of a payload in bytes, -1 for an unknown kind.
func limit(k Kind) int {
	switch k {
	case KindHello, KindBye:
		return 4 << 10
	case KindHead:
		return 64 << 10
	case KindShow:
		return 16 << 20
	case KindCheckpoint:
		return 64 << 20 // about 1 kB a head
	case KindRecord:
		return 8 << 10
	case KindState, KindTime, KindAskTime, KindFollow:
		return 128
	case KindChangeOver, KindYours:
		return 0
	}
	return -1
}

// Hello says who is there.
type Hello struct {
	Version int    `json:"version"` // of the form
	Program string `json:"program"` // version and processor
	Run     uint64 `json:"run"`     // a random number that tells runs apart
	State   State  `json:"state"`
}

// State is where a side stands.
type State struct {
	// Turn counts how often the lamps have changed hands. Of two sides that are both on
	// the lamps, that with the greater Turn is; of equal ones the leader.
	Turn    uint64 `json:"turn"`
	OnLamps bool   `json:"on_lamps"`
	Synced  bool   `json:"synced"` // it follows, and has the complete state
	// Raised is how far its sACN priority is above the show's; below: negative.
	Raised    int8   `json:"raised"`
	Frames    uint64 `json:"frames"`    // made while following
	Differing uint64 `json:"differing"` // of them, those that were not as the other side made them
}

// Time answers AskTime.
type Time struct {
	Asked clock.Time // as in the question
	At    clock.Time // the answerer's
}

// Bye says why a connection ends on purpose.
type Bye struct {
	// Over means that the show has ended by its own rule: nobody takes over.
	Over   bool   `json:"over"`
	Reason string `json:"reason"`
}

// Append appends a message with any payload that is not too long.
func Append(b []byte, k Kind, payload []byte) []byte {
	b = append(b, byte(k))
	b = binary.BigEndian.AppendUint32(b, uint32(len(payload)))
	return append(b, payload...)
}

// AppendJSON appends a Hello or a Bye.
func AppendJSON(b []byte, k Kind, v any) []byte {
	payload, err := json.Marshal(v)
	if err != nil {
		panic(err) // both can be encoded
	}
	return Append(b, k, payload)
}

// AppendFixed appends a State, a Time, or a clock.Time for AskTime.
func AppendFixed(b []byte, k Kind, v any) []byte {
	at := len(b)
	b = append(b, byte(k), 0, 0, 0, 0)
	b, err := binary.Append(b, binary.BigEndian, v)
	if err != nil {
		panic(err) // all of them have a fixed size
	}
	binary.BigEndian.PutUint32(b[at+1:], uint32(len(b)-at-headBytes))
	return b
}

// AppendRecord appends a record; a checkpoint is no record here.
func AppendRecord(b []byte, r *engine.Record) []byte {
	at := len(b)
	b = append(b, byte(KindRecord), 0, 0, 0, 0)
	b = binary.BigEndian.AppendUint64(b, uint64(r.NoteAt))
	b = journal.AppendRecord(b, r)
	b = b[:len(b)-1] // its line feed
	binary.BigEndian.PutUint32(b[at+1:], uint32(len(b)-at-headBytes))
	return b
}

// Reader reads messages.
type Reader struct {
	from    *bufio.Reader
	payload bytes.Buffer
}

// NewReader reads from a connection.
func NewReader(r io.Reader) *Reader { return &Reader{from: bufio.NewReaderSize(r, 32<<10)} }

// Next returns the next message; its payload is valid until the next call. Errors:
// ErrMessage for an unknown kind or one that is too long, those of the connection.
func (r *Reader) Next() (Kind, []byte, error) {
	var head [headBytes]byte
	if _, err := io.ReadFull(r.from, head[:]); err != nil {
		return 0, nil, err
	}
	k, n := Kind(head[0]), int64(binary.BigEndian.Uint32(head[1:]))
	if most := limit(k); n > int64(most) {
		return 0, nil, fmt.Errorf("%w: kind %d with %d bytes, at most %d", ErrMessage, k, n, most)
	}
	r.payload.Reset()
	if _, err := io.CopyN(&r.payload, r.from, n); err != nil { // grows with what has come, not with what was promised
		return 0, nil, err
	}
	return k, r.payload.Bytes(), nil
}

// ParseJSON reads a Hello or a Bye.
func ParseJSON(payload []byte, v any) error {
	if err := json.Unmarshal(payload, v); err != nil {
		return fmt.Errorf("%w: %w", ErrMessage, err)
	}
	return nil
}

// ParseFixed reads what AppendFixed wrote.
func ParseFixed(payload []byte, v any) error {
	if n, err := binary.Decode(payload, binary.BigEndian, v); err != nil || n != len(payload) {
		return fmt.Errorf("%w: %d bytes for a %T", ErrMessage, len(payload), v)
	}
	return nil
}

// ParseRecord reads a record.
func ParseRecord(payload []byte) (engine.Record, error) {
	if len(payload) < noteBytes {
		return engine.Record{}, fmt.Errorf("%w: %d bytes for a record", ErrMessage, len(payload))
	}
	r, err := journal.ParseRecord(string(payload[noteBytes:]))
	r.NoteAt = clock.Time(binary.BigEndian.Uint64(payload))
	return r, err
}

// ParseHead reads a Head.
func ParseHead(payload []byte) (journal.Header, error) {
	read, err := journal.NewReader(bytes.NewReader(payload))
	if err != nil {
		return journal.Header{}, err
	}
	return read.Header, nil
}
