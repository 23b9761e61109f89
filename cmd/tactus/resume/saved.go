package resume

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
)

// Saved is the state of a run, as it is kept.
type Saved struct {
	Program    string // the program that kept it, with its version
	Show       string // the show's folder, or "demo"
	Setup      string // the options that the state depends on
	Content    string // checksum of the show's files, which names their archive
	Ended      bool   // the run ended as it was asked to
	ShortRuns  int    // runs before this one that went on from a state and crashed within a second
	Streams    []byte // sequence numbers of the outputs: see senders.Set.AppendStreams
	Checkpoint []byte // see engine.Loop.AppendCheckpoint
}

// ErrDamaged is wrapped by errors of a file that holds no whole state.
var ErrDamaged = errors.New("damaged")

// A file of a state:
//
//	 0  16  stateMark
//	16   8  number of the state in its run and those before: the higher is the later
//	24   8  length of the content in bytes
//	32   4  CRC-32C of all that is before and after
//	36      content: the fields of Saved in their order. Text and bytes have their length
//	        before them; lengths and numbers are unsigned varints, a truth value is 0 or 1.
//
// Fixed numbers are little-endian. What follows the content is left from a longer state.
const (
	stateMark    = "tactus state 1\n\x00"
	offNumber    = len(stateMark)
	offLength    = offNumber + 8
	offChecksum  = offLength + 8
	offContent   = offChecksum + 4
	maxStateSize = 256 << 20
)

// appendHead appends all fields but the last two, without the length of what follows.
func (s *Saved) appendHead(b []byte) []byte {
	for _, text := range []string{s.Program, s.Show, s.Setup, s.Content} {
		b = append(binary.AppendUvarint(b, uint64(len(text))), text...)
	}
	ended := uint64(0)
	if s.Ended {
		ended = 1
	}
	b = binary.AppendUvarint(b, ended)
	return binary.AppendUvarint(b, uint64(max(s.ShortRuns, 0)))
}

// appendBytes appends a field of bytes.
func appendBytes(b, field []byte) []byte {
	return append(binary.AppendUvarint(b, uint64(len(field))), field...)
}

// appendFile puts the state into an empty b as a file has it.
func (s *Saved) appendFile(b []byte, number uint64) []byte {
	b = append(b, make([]byte, offContent)...)
	b = s.appendHead(b)
	b = appendBytes(appendBytes(b, s.Streams), s.Checkpoint)
	copy(b, stateMark)
	binary.LittleEndian.PutUint64(b[offNumber:], number)
	binary.LittleEndian.PutUint64(b[offLength:], uint64(len(b)-offContent))
	binary.LittleEndian.PutUint32(b[offChecksum:], checksum(b))
	return b
}

func checksum(b []byte) uint32 {
	castagnoli := crc32.MakeTable(crc32.Castagnoli)
	return crc32.Update(crc32.Checksum(b[:offChecksum], castagnoli), castagnoli, b[offContent:])
}

// parseFile reads a file of a state. The result refers to b. Errors wrap ErrDamaged.
func parseFile(b []byte) (s Saved, number uint64, err error) {
	if len(b) < offContent || string(b[:len(stateMark)]) != stateMark {
		return s, 0, fmt.Errorf("%w: not a state, or one in another form", ErrDamaged)
	}
	number = binary.LittleEndian.Uint64(b[offNumber:])
	length := binary.LittleEndian.Uint64(b[offLength:])
	if length > uint64(len(b)-offContent) {
		return s, 0, fmt.Errorf("%w: %d bytes, want %d", ErrDamaged, len(b)-offContent, length)
	}
	b = b[:offContent+int(length)]
	if want, have := binary.LittleEndian.Uint32(b[offChecksum:]), checksum(b); want != have {
		return s, 0, fmt.Errorf("%w: its checksum is %08x, must be %08x", ErrDamaged, have, want)
	}
	f := fieldReader{rest: b[offContent:]}
	s.Program, s.Show, s.Setup, s.Content = string(f.bytes()), string(f.bytes()), string(f.bytes()), string(f.bytes())
	s.Ended = f.number() == 1
	s.ShortRuns = int(min(f.number(), 1<<20))
	s.Streams, s.Checkpoint = f.bytes(), f.bytes()
	if f.bad || len(f.rest) > 0 {
		return Saved{}, 0, fmt.Errorf("%w: its fields do not fit its length", ErrDamaged)
	}
	return s, number, nil
}

// fieldReader reads fields; after a fault they are empty.
type fieldReader struct {
	rest []byte
	bad  bool
}

func (f *fieldReader) number() uint64 {
	n, size := binary.Uvarint(f.rest)
	if size <= 0 {
		f.bad, f.rest = true, nil
		return 0
	}
	f.rest = f.rest[size:]
	return n
}

func (f *fieldReader) bytes() []byte {
	n := f.number()
	if n > uint64(len(f.rest)) {
		f.bad, f.rest = true, nil
		return nil
	}
	b := f.rest[:n]
	f.rest = f.rest[n:]
	return b
}
