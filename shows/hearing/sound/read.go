package sound

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

// Format describes a recording.
type Format struct {
	Kind     string // "WAV", "FLAC", "MP3", "Ogg Vorbis", "Ogg Opus"
	Rate     int    // samples a second, 4,000..768,000
	Channels int    // 1..maxChannels
}

// Sink takes blocks of samples in their order: a slice of equal length for each channel,
// in -1..1 and finite. It must not keep them. An error ends the reading.
type Sink func(f Format, block [][]float32) error

// Errors of Read, wrapped with what was found.
var (
	ErrKind    = errors.New("not a recording that can be read: want WAV, FLAC, MP3, Ogg Vorbis or Ogg Opus")
	ErrAAC     = errors.New("an MP4 or AAC file, which cannot be read here: convert it, for example by 'ffmpeg -i FILE song.flac'")
	ErrEmpty   = errors.New("the recording has no samples")
	ErrDamaged = errors.New("the recording is damaged")
)

// MinRate is the lowest rate of a recording that is read, in samples a second. What tells loud
// from soft lies up to 1.7 kHz (BS.1770-4), and half the rate has to lie above.
const MinRate = 4000

const (
	maxChannels = 8
	maxRate     = 768_000
	// blockFrames is how many samples of each channel are handed out at a time.
	blockFrames = 4096
)

// Read reads a recording and hands its samples to the sink. A file that ends early is read
// up to there, and cut is true.
func Read(r io.Reader, sink Sink) (f Format, cut bool, err error) {
	in := bufio.NewReaderSize(r, 1<<16)
	head, err := in.Peek(64)
	if err != nil && !errors.Is(err, io.EOF) {
		return f, false, err
	}
	out := &writer{sink: sink}
	switch {
	case len(head) == 0:
		return f, false, fmt.Errorf("%w: the file is empty", ErrEmpty)
	case has(head, 0, "RIFF") || has(head, 0, "RF64") || has(head, 0, "BW64"):
		cut, err = readWAV(in, out)
	case has(head, 0, "fLaC"):
		cut, err = guarded(readFLAC, in, out)
	case has(head, 0, "OggS") && bytes.Contains(head, []byte("vorbis")):
		cut, err = guarded(readVorbis, in, out)
	case has(head, 0, "OggS") && bytes.Contains(head, []byte("OpusHead")):
		cut, err = guarded(readOpus, in, out)
	case has(head, 0, "ID3") || len(head) > 1 && head[0] == 0xFF && head[1]&0xE6 == 0xE2:
		cut, err = guarded(readMP3, in, out)
	case has(head, 4, "ftyp") || len(head) > 1 && head[0] == 0xFF && head[1]&0xF6 == 0xF0:
		return f, false, ErrAAC
	default:
		return f, false, fmt.Errorf("%w: it begins with %q", ErrKind, head[:min(len(head), 8)])
	}
	if err == nil {
		err = out.flush()
	}
	if err == nil && out.frames == 0 {
		err = ErrEmpty
	}
	return out.format, cut, err
}

// guarded runs a library's decoder, which may panic on a damaged file: that is an error then,
// or the end of what can be read.
func guarded(read func(*bufio.Reader, *writer) (bool, error), in *bufio.Reader, out *writer) (cut bool, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			cut, err = true, nil
			if out.frames == 0 {
				err = fmt.Errorf("%w: %v", ErrDamaged, fault)
			}
		}
	}()
	return read(in, out)
}

func has(head []byte, at int, word string) bool {
	return len(head) >= at+len(word) && string(head[at:at+len(word)]) == word
}

// writer gathers samples into blocks.
type writer struct {
	sink   Sink
	format Format
	block  [][]float32
	frames int64 // handed out or waiting
}

func (w *writer) open(f Format) error {
	if f.Channels < 1 || f.Channels > maxChannels {
		return fmt.Errorf("%w: %d channels, want 1 to %d", ErrDamaged, f.Channels, maxChannels)
	}
	if f.Rate < MinRate || f.Rate > maxRate {
		return fmt.Errorf("%w: %d samples a second, want %d to %d", ErrDamaged, f.Rate, MinRate, maxRate)
	}
	w.format = f
	w.block = make([][]float32, f.Channels)
	for i := range w.block {
		w.block[i] = make([]float32, 0, blockFrames)
	}
	return nil
}

// add adds a sample of each channel. What is not a number becomes silence, and what lies
// far outside of -1..1, as some float files have it, is held at 8, 18 dB above.
func (w *writer) add(frame []float32) error {
	for c, v := range frame {
		if v != v {
			v = 0
		}
		w.block[c] = append(w.block[c], min(max(v, -8), 8))
	}
	w.frames++
	if len(w.block[0]) < blockFrames {
		return nil
	}
	return w.flush()
}

func (w *writer) flush() error {
	if w.block == nil || len(w.block[0]) == 0 {
		return nil
	}
	err := w.sink(w.format, w.block)
	for i := range w.block {
		w.block[i] = w.block[i][:0]
	}
	return err
}
