package sound

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"github.com/hajimehoshi/go-mp3"
)

// decoderDelay is how many samples later than the encoder meant a decoder of layer III
// hands them out: 528 of its filters and one (common practice, no source).
const decoderDelay = 529

// readMP3 takes off what an encoder puts before the recording and after it, where an Info
// frame says how much that is.
func readMP3(in *bufio.Reader, out *writer) (cut bool, err error) {
	info, err := peekInfo(in)
	if err != nil {
		return false, err
	}
	d, err := mp3.NewDecoder(in)
	if err != nil {
		return false, fmt.Errorf("%w: %v", ErrDamaged, err)
	}
	if err := out.open(Format{"MP3", d.SampleRate(), 2}); err != nil {
		return false, err
	}
	skip, most := info.skip, info.length
	b, frame := make([]byte, 4*1152), make([]float32, 2)
	for {
		n, err := io.ReadFull(d, b)
		for i := 0; i+4 <= n; i += 4 {
			if skip > 0 {
				skip--
				continue
			}
			if most == 0 {
				continue
			}
			most--
			for c := range frame {
				frame[c] = float32(int16(binary.LittleEndian.Uint16(b[i+2*c:]))) / (1 << 15)
			}
			if err := out.add(frame); err != nil {
				return false, err
			}
		}
		switch {
		case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
			return most > 0 && info.known, nil
		case err != nil && out.frames > 0:
			return true, nil
		case err != nil:
			return false, fmt.Errorf("%w: %v", ErrDamaged, err)
		}
	}
}

// infoFrame is what the first frame of an MP3 file says of the recording.
type infoFrame struct {
	known  bool
	skip   int64 // samples before the first that was recorded
	length int64 // samples that were recorded; -1: as many as come
}

// peekInfo looks for an Info frame behind the tags at the start, without taking anything
// from in but the tags.
func peekInfo(in *bufio.Reader) (infoFrame, error) {
	unknown := infoFrame{length: -1}
	for { // ID3v2 tags: ten octets of head, with the size in seven bits each
		head, err := in.Peek(10)
		if err != nil {
			return unknown, fmt.Errorf("%w: the MP3 file ends in its first 10 octets", ErrDamaged)
		}
		if string(head[:3]) != "ID3" {
			break
		}
		size := int64(head[6]&0x7F)<<21 | int64(head[7]&0x7F)<<14 | int64(head[8]&0x7F)<<7 | int64(head[9]&0x7F)
		if _, err := io.CopyN(io.Discard, in, size+10); err != nil {
			return unknown, fmt.Errorf("%w: the MP3 file ends in its tags", ErrDamaged)
		}
	}
	b, err := in.Peek(200)
	if err != nil || b[0] != 0xFF || b[1]&0xE0 != 0xE0 {
		return unknown, nil // short, or not at a frame: the decoder looks for one
	}
	version1, mono := b[1]>>3&3 == 3, b[3]>>6 == 3
	at, frame := 4+32, int64(1152) // the side information lies between head and Info
	switch {
	case version1 && mono:
		at = 4 + 17
	case !version1 && mono:
		at, frame = 4+9, 576
	case !version1:
		at, frame = 4+17, 576
	}
	if b[1]&1 == 0 {
		at += 2 // a checksum
	}
	word := string(b[at : at+4])
	if word != "Xing" && word != "Info" {
		return unknown, nil
	}
	flags, next := binary.BigEndian.Uint32(b[at+4:]), at+8
	frames := int64(-1)
	if flags&1 != 0 {
		frames, next = int64(binary.BigEndian.Uint32(b[next:])), next+4
	}
	for bit, size := range map[uint32]int{2: 4, 4: 100, 8: 4} { // octets, table of seeking, quality
		if flags&bit != 0 {
			next += size
		}
	}
	info := infoFrame{skip: frame, length: -1} // the Info frame itself is decoded as silence
	if next+24 > len(b) {
		return info, nil
	}
	delay, padding := int64(b[next+21])<<4|int64(b[next+22]>>4), int64(b[next+22]&0xF)<<8|int64(b[next+23])
	if delay == 0 && padding == 0 {
		return info, nil
	}
	info.skip += delay + decoderDelay
	if frames > 0 && frames < 1<<31 {
		info.known, info.length = true, max(frames*frame-delay-padding, 0)
	}
	return info, nil
}
