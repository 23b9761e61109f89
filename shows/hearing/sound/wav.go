package sound

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// Codes of sample formats in a WAV file.
const (
	wavePCM        = 1
	waveFloat      = 3
	waveExtensible = 0xFFFE
)

// readWAV reads PCM of 8, 16, 24 and 32 bits and floats of 32 and 64. A size of the data
// that is 0 or too large, as recorders leave that were switched off, means up to the end.
func readWAV(in *bufio.Reader, out *writer) (cut bool, err error) {
	var head [12]byte
	if _, err := io.ReadFull(in, head[:]); err != nil || string(head[8:]) != "WAVE" {
		return false, fmt.Errorf("%w: a RIFF file without WAVE in it", ErrDamaged)
	}
	var decode func(b []byte) float32
	var width, channels int
	for {
		var chunk [8]byte
		if _, err := io.ReadFull(in, chunk[:]); err != nil {
			return false, fmt.Errorf("%w: no chunk %q in the WAV file", ErrDamaged, "data")
		}
		size := int64(binary.LittleEndian.Uint32(chunk[4:]))
		switch string(chunk[:4]) {
		case "fmt ":
			f, w, d, err := readWAVFormat(in, size)
			if err != nil {
				return false, err
			}
			if err := out.open(f); err != nil {
				return false, err
			}
			width, channels, decode = w, f.Channels, d
		case "data":
			if decode == nil {
				return false, fmt.Errorf("%w: the WAV file's data come before its format", ErrDamaged)
			}
			if size == 0 || size == math.MaxUint32 { // RF64, or a recorder that was switched off
				size = math.MaxInt64
			}
			return readWAVData(in, out, size, width, channels, decode)
		default:
			if _, err := io.CopyN(io.Discard, in, size+size&1); err != nil {
				return false, fmt.Errorf("%w: no chunk %q in the WAV file", ErrDamaged, "data")
			}
		}
	}
}

func readWAVFormat(in io.Reader, size int64) (f Format, width int, decode func([]byte) float32, err error) {
	if size < 16 || size > 1<<16 {
		return f, 0, nil, fmt.Errorf("%w: the WAV file's format has %d octets, want 16 to 65536", ErrDamaged, size)
	}
	b := make([]byte, size+size&1)
	if _, err := io.ReadFull(in, b); err != nil {
		return f, 0, nil, fmt.Errorf("%w: the WAV file ends in its format", ErrDamaged)
	}
	code, bits := binary.LittleEndian.Uint16(b), int(binary.LittleEndian.Uint16(b[14:]))
	f = Format{"WAV", int(min(binary.LittleEndian.Uint32(b[4:]), math.MaxInt32)), int(binary.LittleEndian.Uint16(b[2:]))}
	if code == waveExtensible && size >= 26 {
		code = binary.LittleEndian.Uint16(b[24:]) // the first two octets of the sub-format's GUID
	}
	switch {
	case code == wavePCM && bits == 8:
		decode = func(b []byte) float32 { return (float32(b[0]) - 128) / 128 }
	case code == wavePCM && bits == 16:
		decode = func(b []byte) float32 { return float32(int16(binary.LittleEndian.Uint16(b))) / (1 << 15) }
	case code == wavePCM && bits == 24:
		decode = func(b []byte) float32 {
			return float32(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)>>8) / (1 << 23)
		}
	case code == wavePCM && bits == 32:
		decode = func(b []byte) float32 { return float32(int32(binary.LittleEndian.Uint32(b))) / (1 << 31) }
	case code == waveFloat && bits == 32:
		decode = func(b []byte) float32 { return math.Float32frombits(binary.LittleEndian.Uint32(b)) }
	case code == waveFloat && bits == 64:
		decode = func(b []byte) float32 { return float32(math.Float64frombits(binary.LittleEndian.Uint64(b))) }
	default:
		return f, 0, nil, fmt.Errorf("%w: the WAV file has samples of format %d with %d bits; want PCM of 8, 16, 24 or 32, or floats of 32 or 64", ErrKind, code, bits)
	}
	return f, bits / 8, decode, nil
}

func readWAVData(in io.Reader, out *writer, size int64, width, channels int, decode func([]byte) float32) (cut bool, err error) {
	b, frame := make([]byte, width*channels), make([]float32, channels)
	for n := int64(0); n+int64(len(b)) <= size; n += int64(len(b)) {
		if _, err := io.ReadFull(in, b); err != nil {
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				return size != math.MaxInt64, nil
			}
			return false, err
		}
		for c := range frame {
			frame[c] = decode(b[c*width:])
		}
		if err := out.add(frame); err != nil {
			return false, err
		}
	}
	return false, nil
}
