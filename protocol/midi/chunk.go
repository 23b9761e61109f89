package midi

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// Errors in Standard MIDI Files.
var (
	ErrFile   = errors.New("midi: not a Standard MIDI File")
	ErrShort  = errors.New("midi: file is cut short")
	ErrTrack  = errors.New("midi: malformed track")
	ErrSMPTE  = errors.New("midi: file counts SMPTE frames, not beats; export it with ticks per quarter note")
	ErrFormat = errors.New("midi: file holds separate patterns; export it as format 0 or 1")
	ErrSize   = errors.New("midi: file is too long to play")
)

// Limits of a file. A song of ten minutes with dense automation is about 1 MB.
const (
	maxFileOctets = 16 << 20
	maxTracks     = 1024
)

// header is the MThd chunk (Standard MIDI Files 1.0, 2.1):
//
//	0  4  "MThd"
//	4  4  length, 6; a longer chunk is accepted
//	8  2  format 0, 1 or 2
//	10 2  number of tracks
//	12 2  division: ticks per quarter note; bit 15 set means SMPTE
type header struct {
	format, tracks, division uint16
}

// splitFile returns the bodies of the MTrk chunks in src. Chunks of other
// types are skipped (2.1).
func splitFile(src []byte) (header, [][]byte, error) {
	var h header
	if len(src) > maxFileOctets {
		return h, nil, fmt.Errorf("%w: have %d octets, limit %d", ErrSize, len(src), maxFileOctets)
	}
	if len(src) < 14 || string(src[:4]) != "MThd" {
		return h, nil, fmt.Errorf("%w: no MThd chunk in %d octets", ErrFile, len(src))
	}
	body, rest, err := cutChunk(src, 0)
	if err != nil {
		return h, nil, err
	}
	if len(body) < 6 {
		return h, nil, fmt.Errorf("%w: MThd has %d octets, need 6", ErrFile, len(body))
	}
	h.format = binary.BigEndian.Uint16(body)
	h.tracks = binary.BigEndian.Uint16(body[2:])
	h.division = binary.BigEndian.Uint16(body[4:])
	if err := h.check(); err != nil {
		return h, nil, err
	}
	var tracks [][]byte
	for len(rest) > 0 && len(tracks) < int(h.tracks) {
		kind := rest[:min(4, len(rest))]
		if body, rest, err = cutChunk(rest, len(src)-len(rest)); err != nil {
			return h, nil, err
		}
		if string(kind) == "MTrk" {
			tracks = append(tracks, body)
		}
	}
	if len(tracks) < int(h.tracks) {
		return h, nil, fmt.Errorf("%w: have %d tracks, header says %d", ErrShort, len(tracks), h.tracks)
	}
	return h, tracks, nil
}

func (h header) check() error {
	switch {
	case h.format == 2:
		return ErrFormat
	case h.format > 2:
		return fmt.Errorf("%w: format %d, want 0 or 1", ErrFile, h.format)
	case h.division&0x8000 != 0:
		return fmt.Errorf("%w (division %04X)", ErrSMPTE, h.division)
	case h.division == 0:
		return fmt.Errorf("%w: 0 ticks per quarter note", ErrFile)
	case h.tracks == 0:
		return fmt.Errorf("%w: no tracks", ErrFile)
	case h.tracks > maxTracks:
		return fmt.Errorf("%w: %d tracks, limit %d", ErrSize, h.tracks, maxTracks)
	case h.format == 0 && h.tracks != 1:
		return fmt.Errorf("%w: format 0 with %d tracks, want 1", ErrFile, h.tracks)
	}
	return nil
}

// cutChunk splits the first chunk off src. at is the offset of src in the file, for
// errors.
func cutChunk(src []byte, at int) (body, rest []byte, err error) {
	if len(src) < 8 {
		return nil, nil, fmt.Errorf("%w: octet %d: have %d octets, a chunk needs 8", ErrShort, at, len(src))
	}
	n := binary.BigEndian.Uint32(src[4:])
	if uint64(n) > uint64(len(src)-8) {
		return nil, nil, fmt.Errorf("%w: octet %d: chunk %q: have %d octets, need %d", ErrShort, at, src[:4], len(src)-8, n)
	}
	return src[8 : 8+n], src[8+n:], nil
}

// Types of meta events (3.1).
const (
	metaTempo    = 0x51
	metaSpecific = 0x7F // of one maker's sequencer; ignored
)

// tempoEvent is an event FF 51.
type tempoEvent struct {
	tick int64
	kind int // where its type is in the track
	data []byte
}

// checkTrack checks the lengths of a track's events before the library allocates
// memory by them. It returns the length of the track in ticks, and its tempo events.
func checkTrack(b []byte) (ticks int64, tempos []tempoEvent, err error) {
	var status byte
	for i := 0; ; {
		delta, n := varLength(b[i:])
		if n == 0 {
			return 0, nil, fmt.Errorf("%w: octet %d: no delta time", ErrTrack, i)
		}
		ticks += int64(delta)
		i += n
		if i >= len(b) {
			return 0, nil, fmt.Errorf("%w: octet %d: no end of track", ErrTrack, i)
		}
		kind := byte(0) // meta type
		switch s := b[i]; {
		case s == 0xFF || s == 0xF0 || s == 0xF7: // meta and SysEx cancel running status (2.3)
			status = 0
			i++
			if s == 0xFF && i < len(b) {
				kind = b[i]
				i++
			}
			size, n := varLength(b[min(i, len(b)):])
			if n == 0 {
				return 0, nil, fmt.Errorf("%w: octet %d: no length", ErrTrack, i)
			}
			if kind == metaTempo && i+n+int(size) <= len(b) {
				tempos = append(tempos, tempoEvent{ticks, i - 1, b[i+n : i+n+int(size)]})
			}
			i += n + int(size)
		case s > 0xF0:
			return 0, nil, fmt.Errorf("%w: octet %d: status %02X is not allowed in a file", ErrTrack, i, s)
		case s >= 0x80:
			status = s
			i += 1 + dataOctets(s)
		case status == 0:
			return 0, nil, fmt.Errorf("%w: octet %d: data %02X without a status", ErrTrack, i, s)
		default:
			i += dataOctets(status)
		}
		if i > len(b) {
			return 0, nil, fmt.Errorf("%w: event ends at octet %d, the track at %d", ErrTrack, i, len(b))
		}
		if kind == 0x2F {
			if i != len(b) {
				return 0, nil, fmt.Errorf("%w: end of track at octet %d, chunk ends at %d", ErrTrack, i, len(b))
			}
			return ticks, tempos, nil
		}
	}
}

// varLength reads a variable-length quantity (1.1): 7 bits in each octet, most
// significant first, at most 4 octets. n is the number of octets read, 0 on an
// error.
func varLength(b []byte) (v uint32, n int) {
	for n < len(b) && n < 4 {
		v = v<<7 | uint32(b[n]&0x7F)
		n++
		if b[n-1] < 0x80 {
			return v, n
		}
	}
	return 0, 0
}
