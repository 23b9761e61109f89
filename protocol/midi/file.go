package midi

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"math/bits"
	"slices"
	"sort"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gitlab.com/gomidi/midi/v2/smf"
)

// File is the part of a Standard MIDI File (1.0, formats 0 and 1) that playing
// needs: channel messages, tempo map, meters and markers. SysEx is left out.
type File struct {
	Division int    // ticks per quarter note, 1..32767
	Name     string // FF 03 of the first track (3.1), made printable
	Ticks    int64  // length of the longest track
	Tempos   []TempoChange
	Meters   []Meter
	Markers  []Marker
	Texts    []string // FF 01 of the first track (3.1), made printable

	events        []event
	microsAtTempo []int64 // time of each tempo change, in µs · 24 · Division
}

// TempoChange is FF 51 (3.1). Before the first, a quarter note lasts
// 500,000 µs (2.2).
type TempoChange struct {
	Tick             int64
	MicrosPerQuarter int64 // 1..16,777,215
}

// Meter is FF 58 (3.1). Without one, 4/4 holds (2.2).
type Meter struct {
	Tick  int64
	Beats int // numerator
	Unit  int // denominator: 1, 2, 4, 8, …
}

// Marker is FF 06 marker or FF 07 cue point (3.1), made printable.
type Marker struct {
	Tick int64
	Text string
	Cue  bool
}

// event is a channel message at a tick.
type event struct {
	tick  int64
	bytes [3]byte
	len   uint8
	track uint16 // from 0
}

// ParseFile reads a file. Errors wrap ErrFile, ErrShort, ErrTrack, ErrSMPTE,
// ErrFormat or ErrSize.
func ParseFile(src []byte) (*File, error) {
	h, tracks, err := splitFile(src)
	if err != nil {
		return nil, err
	}
	f := &File{Division: int(h.division)}
	for i, body := range tracks {
		ticks, tempos, err := checkTrack(body)
		if err == nil {
			err = f.addTrack(body, tempos, i)
		}
		if err != nil {
			return nil, fmt.Errorf("track %d: %w", i+1, err)
		}
		f.Ticks = max(f.Ticks, ticks)
	}
	// A stable sort: within one tick, events keep their order in the file, track by
	// track.
	slices.SortStableFunc(f.events, func(a, b event) int { return cmp.Compare(a.tick, b.tick) })
	slices.SortStableFunc(f.Markers, func(a, b Marker) int { return cmp.Compare(a.Tick, b.Tick) })
	if err := f.checkLength(); err != nil {
		return nil, err
	}
	return f, nil
}

// addTrack reads one checked track. In format 1 the tempo map is in the first
// track only (2.2).
func (f *File) addTrack(body []byte, tempos []tempoEvent, index int) error {
	first := index == 0
	for i := 0; i < len(tempos) && first; i++ {
		if err := f.addTempo(&tempos[i]); err != nil {
			return err
		}
	}
	track, err := readTrack(f.Division, body, tempos)
	if err != nil {
		return err
	}
	var tick int64
	for _, e := range track {
		tick += int64(e.Delta)
		m := []byte(e.Message)
		switch {
		case len(m) == 0:
		case m[0] == 0xFF:
			if err := f.addMeta(tick, m, first); err != nil {
				return err
			}
		case m[0] < 0xF0 && len(m) <= 3:
			ev := event{tick: tick, len: uint8(len(m)), track: uint16(index)}
			copy(ev.bytes[:], m)
			if ev.bytes[1]|ev.bytes[2] >= 0x80 {
				return fmt.Errorf("%w: tick %d: status where data belongs in % X", ErrTrack, tick, m)
			}
			f.events = append(f.events, ev)
		}
	}
	return nil
}

// addTempo stores a tempo event.
func (f *File) addTempo(e *tempoEvent) error {
	if len(e.data) != 3 {
		return fmt.Errorf("%w: tick %d: tempo has %d octets, need 3", ErrTrack, e.tick, len(e.data))
	}
	us := int64(e.data[0])<<16 | int64(e.data[1])<<8 | int64(e.data[2])
	if us == 0 {
		return fmt.Errorf("%w: tick %d: a quarter note of 0 µs", ErrTrack, e.tick)
	}
	f.Tempos = append(f.Tempos, TempoChange{e.tick, us})
	return nil
}

// addMeta stores the other meta events that playing or display needs. m is FF, type,
// length, data.
func (f *File) addMeta(tick int64, m []byte, first bool) error {
	if len(m) < 3 {
		return nil
	}
	_, n := varLength(m[2:])
	data := m[2+n:]
	switch kind := m[1]; {
	case kind == 0x58 && first:
		if len(data) != 4 || data[0] == 0 || data[1] > 7 {
			return fmt.Errorf("%w: tick %d: meter % X", ErrTrack, tick, data)
		}
		f.Meters = append(f.Meters, Meter{tick, int(data[0]), 1 << data[1]})
	case kind == 0x03 && first && f.Name == "":
		f.Name = printable(data)
	case kind == 0x01 && first:
		f.Texts = append(f.Texts, printable(data))
	case kind == 0x06 || kind == 0x07:
		f.Markers = append(f.Markers, Marker{tick, printable(data), kind == 0x07})
	}
	return nil
}

// printable makes text from a file safe for a terminal. The standard asks for ASCII
// (3.1). Programs write UTF-8, and older ones one octet a letter, which is read as
// ISO 8859-1. Some write a buffer of fixed length: what follows a NUL is not text.
func printable(b []byte) string {
	b, _, _ = bytes.Cut(b, []byte{0})
	if !utf8.Valid(b) {
		letters := make([]rune, len(b))
		for i, c := range b {
			letters[i] = rune(c)
		}
		b = []byte(string(letters))
	}
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsPrint(r):
			return r
		case unicode.IsSpace(r): // a tab, or the end of a line
			return ' '
		}
		return '·'
	}, strings.ToValidUTF8(string(b), "·"))
}

// readTrack reads one track with the library as a file of its own, so that the
// library cannot read past the chunk, and converts its panics to errors. Tempo events are
// hidden from the library: it takes time by the square of their number.
func readTrack(division int, body []byte, tempos []tempoEvent) (track smf.Track, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%w: %v", ErrTrack, p)
		}
	}()
	b := make([]byte, 0, 22+len(body))
	b = append(b, "MThd\x00\x00\x00\x06\x00\x00\x00\x01"...)
	b = binary.BigEndian.AppendUint16(b, uint16(division))
	b = append(b, "MTrk"...)
	b = binary.BigEndian.AppendUint32(b, uint32(len(body)))
	start := len(b)
	b = append(b, body...)
	for i := range tempos {
		b[start+tempos[i].kind] = metaSpecific
	}
	s, err := smf.ReadFrom(bytes.NewReader(b))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrTrack, err)
	}
	if len(s.Tracks) != 1 {
		return nil, fmt.Errorf("%w: read %d tracks, want 1", ErrTrack, len(s.Tracks))
	}
	return s.Tracks[0], nil
}

// defaultTempo applies before the first tempo event (2.2).
const defaultTempo int64 = 500_000 // µs a quarter note: 120 BPM

// The longest file that is played.
const (
	maxPlay  = 12 * time.Hour
	maxTicks = 2_000_000 // MIDI clocks: 11 h at 120 BPM
)

// checkLength limits the length of the schedule and adds up the tempo map. It checks
// the number of ticks first, because that keeps the sums within 61 bits.
func (f *File) checkLength() error {
	if f.Ticks > maxTicks/24*int64(f.Division) {
		return fmt.Errorf("%w: %d quarter notes, limit %d", ErrSize, f.Ticks/int64(f.Division), maxTicks/24)
	}
	var sum, from int64
	us := defaultTempo
	f.microsAtTempo = make([]int64, len(f.Tempos))
	for i, t := range f.Tempos {
		sum += (t.Tick - from) * 24 * us
		f.microsAtTempo[i] = sum
		from, us = t.Tick, t.MicrosPerQuarter
	}
	if d := f.TimeAt(f.Ticks); d > maxPlay {
		return fmt.Errorf("%w: %v, limit %v", ErrSize, d, maxPlay)
	}
	return nil
}

// TimeAt returns the time of a tick, 0..Ticks, after tick 0, by the tempo map.
func (f *File) TimeAt(tick int64) time.Duration { return f.timeAt24(tick * 24) }

// timeAt24 is TimeAt for 24ths of a tick: every MIDI clock falls on a whole number
// of them. The sum is exact; the result is rounded down to the nanosecond.
func (f *File) timeAt24(pos int64) time.Duration {
	sum := pos * defaultTempo
	i := sort.Search(len(f.Tempos), func(i int) bool { return f.Tempos[i].Tick*24 >= pos }) - 1
	if i >= 0 {
		sum = f.microsAtTempo[i] + (pos-f.Tempos[i].Tick*24)*f.Tempos[i].MicrosPerQuarter
	}
	hi, lo := bits.Mul64(uint64(sum), 1000)
	ns, _ := bits.Div64(hi, lo, uint64(24*f.Division))
	return time.Duration(ns)
}
