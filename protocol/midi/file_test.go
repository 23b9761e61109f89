package midi

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFileHostile(t *testing.T) {
	good := ReadHex(t, "packets/smf-format1-480.hex")
	note := "\x00\x90\x3C\x40"
	for name, c := range map[string]struct {
		src  []byte
		want error
	}{
		"empty":            {nil, ErrFile},
		"text":             {[]byte("this is no music at all"), ErrFile},
		"header only":      {[]byte("MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xE0"), ErrShort},
		"header length":    {[]byte("MThd\xFF\xFF\xFF\xFF\x00\x01\x00\x01\x01\xE0"), ErrShort},
		"header too small": {[]byte("MThd\x00\x00\x00\x02\x00\x01\x00\x01\x01\xE0"), ErrFile},
		"SMPTE":            {file(1, 0xE250, track(note+endOfTrack)), ErrSMPTE},
		"SMPTE ms":         {file(0, 0xE728, track(endOfTrack)), ErrSMPTE},
		"format 2":         {file(2, 96, track(endOfTrack)), ErrFormat},
		"format 3":         {file(3, 96, track(endOfTrack)), ErrFile},
		"format 0, two":    {file(0, 96, track(endOfTrack), track(endOfTrack)), ErrFile},
		"no tracks":        {file(1, 96), ErrFile},
		"division 0":       {file(0, 0, track(endOfTrack)), ErrFile},
		"track cut":        {good[:len(good)-1], ErrShort},
		"track missing":    {good[:94], ErrShort},
		"track length":     {append(file(0, 96, "MTrk\xFF\xFF\xFF\xFF"), note...), ErrShort},
		"no end of track":  {file(0, 96, track(note)), ErrTrack},
		"empty track":      {file(0, 96, track("")), ErrTrack},
		"after the end":    {file(0, 96, track(endOfTrack+note)), ErrTrack},
		"meta length":      {file(0, 96, track("\x00\xFF\x01\xFF\xFF\xFF\x7Fabc"+endOfTrack)), ErrTrack},
		"sysex length":     {file(0, 96, track("\x00\xF0\x8F\xFF\xFF\x7Fabc"+endOfTrack)), ErrTrack},
		"long quantity":    {file(0, 96, track("\x81\x81\x81\x81\x01\x90\x3C\x40"+endOfTrack)), ErrTrack},
		"no status":        {file(0, 96, track("\x00\x3C\x40"+endOfTrack)), ErrTrack},
		"status after meta": {
			file(0, 96, track(note+"\x00\xFF\x01\x00\x00\x3C\x40"+endOfTrack)),
			ErrTrack,
		},
		"system common":  {file(0, 96, track("\x00\xF2\x00\x00"+endOfTrack)), ErrTrack},
		"status as data": {file(0, 96, track("\x00\x90\x90\x40"+endOfTrack)), ErrTrack},
		"tempo 0":        {file(0, 96, track("\x00\xFF\x51\x03\x00\x00\x00"+endOfTrack)), ErrTrack},
		"tempo short":    {file(0, 96, track("\x00\xFF\x51\x02\x00\x01"+endOfTrack)), ErrTrack},
		"meter 0":        {file(0, 96, track("\x00\xFF\x58\x04\x00\x02\x18\x08"+endOfTrack)), ErrTrack},
		"meter 4/2^255":  {file(0, 96, track("\x00\xFF\x58\x04\x04\xFF\x18\x08"+endOfTrack)), ErrTrack},
		"endless":        {file(0, 1, track(strings.Repeat("\xFF\xFF\xFF\x7F\x90\x3C\x40", 100)+endOfTrack)), ErrSize},
		"slow": {
			file(0, 1, track("\x00\xFF\x51\x03\xFF\xFF\xFF\xA0\x00\x90\x3C\x40"+endOfTrack)),
			ErrSize,
		},
		"huge": {make([]byte, maxFileOctets+1), ErrSize},
	} {
		f, err := ParseFile(c.src)
		assert.ErrorIs(t, err, c.want, "%s: have %v", name, f)
	}
	for n := range good { // every truncation is an error, none a panic
		_, err := ParseFile(good[:n])
		assert.Error(t, err, "first %d of %d octets", n, len(good))
	}
}

// A longer header is honoured and unknown chunks are skipped (2.1); data after
// the last track is not ours. Text that is no UTF-8 is read as ISO 8859-1.
func TestFileTolerates(t *testing.T) {
	src := "MThd\x00\x00\x00\x08\x00\x01\x00\x01\x00\x60\xAA\xBB" + "XFIH\x00\x00\x00\x03abc" +
		track("\x00\xF0\x03\x7D\x01\xF7\x00\xFF\x7F\x01\x00\x00\xFF\x60\x00\x60\xC3\x07"+"\x00\xFF\x06\x03a\x1B\xFF"+endOfTrack) + "rubbish"
	f := mustParse(t, []byte(src))
	if assert.Len(t, f.events, 1) {
		assert.EqualValues(t, 96, f.events[0].tick)
		assert.Equal(t, [3]byte{0xC3, 7}, f.events[0].bytes)
		assert.Equal(t, "a·ÿ", f.Markers[0].Text)
	}
}

func TestFileLibraryPanicIsAnError(t *testing.T) {
	// The library panics on an F4 that our own walk has refused already.
	_, err := readTrack(96, []byte("\x00\xF4"+endOfTrack), nil)
	assert.ErrorIs(t, err, ErrTrack)
}

// A file of hundreds of thousands of tempo events is read in a time by their number, not
// by its square, which was minutes.
func TestFileOfManyTempos(t *testing.T) {
	const count = 300_000
	src := file(0, 96, track(strings.Repeat("\x01\xFF\x51\x03\x07\xA1\x20", count)+endOfTrack))
	began := time.Now()
	f := mustParse(t, src)
	assert.Less(t, time.Since(began), 10*time.Second)
	require.Len(t, f.Tempos, count)
	assert.Equal(t, TempoChange{count, 500_000}, f.Tempos[count-1])
	assert.EqualValues(t, count, f.Ticks)
}

func FuzzFile(f *testing.F) {
	f.Add(ReadHex(f, "packets/smf-format1-480.hex"))
	f.Add(file(0, 0xE250, track(endOfTrack)))
	f.Add(file(0, 100, track("\x00\xF0\x03\x7D\x01\xF7\x00\xC0\x01\x81\x00\x02"+endOfTrack)))
	f.Add(file(1, 24, track("\x00\xFF\x51\x03\x00\x00\x01"+endOfTrack), track("\x60\xE0\x00\x40"+endOfTrack)))
	f.Fuzz(func(t *testing.T, src []byte) {
		p, err := ParseFile(src)
		if err != nil {
			known := []error{ErrFile, ErrShort, ErrTrack, ErrSMPTE, ErrFormat, ErrSize}
			require.True(t, slices.ContainsFunc(known, func(e error) bool { return errors.Is(err, e) }), "unknown error %v", err)
			return
		}
		if p.Ticks/int64(p.Division) > 1000 {
			return // a long schedule is no new case
		}
		s := p.Schedule(1)
		last := s.Entries[0].At
		for _, e := range s.Entries {
			require.GreaterOrEqual(t, e.At, last)
			require.NotZero(t, e.Len)
			last = e.At
		}
	})
}
