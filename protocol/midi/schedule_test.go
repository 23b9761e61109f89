package midi

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	gomidi "gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"tactus/clock"
)

// track wraps a body as an MTrk chunk; file puts chunks behind an MThd.
func track(body string) string {
	return "MTrk" + string(binary.BigEndian.AppendUint32(nil, uint32(len(body)))) + body
}

func file(format, division uint16, tracks ...string) []byte {
	b := []byte("MThd\x00\x00\x00\x06")
	b = binary.BigEndian.AppendUint16(b, format)
	b = binary.BigEndian.AppendUint16(b, uint16(len(tracks)))
	b = binary.BigEndian.AppendUint16(b, division)
	return append(b, strings.Join(tracks, "")...)
}

const endOfTrack = "\x00\xFF\x2F\x00"

func mustParse(t testing.TB, src []byte) *File {
	t.Helper()
	f, err := ParseFile(src)
	require.NoError(t, err)
	return f
}

// text prints entries as time and octets.
func text(entries []Entry) string {
	var b strings.Builder
	for _, e := range entries {
		fmt.Fprintf(&b, "%v % X\n", e.At, e.Bytes[:e.Len])
	}
	return b.String()
}

// Source: Standard MIDI Files 1.0, 1.1, by testdata/reference/vlq.csv: a note
// after that delta time falls on that tick.
func TestFileDeltaTimes(t *testing.T) {
	for _, row := range ReadCSV(t, "vlq.csv") {
		var want int64
		fmt.Sscan(row[1], &want)
		delta := string(Unhex(t, row[2]))
		v, n := varLength([]byte(delta))
		assert.Equal(t, want, int64(v), "% X", delta)
		assert.Equal(t, len(delta), n, "% X", delta)
		f := mustParse(t, file(0, 32767, track(delta+"\x90\x3C\x40"+endOfTrack)))
		assert.Equal(t, want, f.events[0].tick, "% X: note at tick", delta)
		assert.Equal(t, want, f.Ticks, "% X: note at tick", delta)
	}
	for _, bad := range []string{"", "\x81", "\xFF\xFF\xFF\xFF", "\xFF\xFF\xFF\xFF\x7F"} {
		v, n := varLength([]byte(bad))
		assert.Zero(t, n, "% X: have %d in %d octets", bad, v, n)
	}
}

// Source: testdata/reference/packets/smf-format1-480.hex and its figures.
func TestFileReference(t *testing.T) {
	f := mustParse(t, ReadHex(t, "packets/smf-format1-480.hex"))
	for tick, want := range map[int64]time.Duration{0: 0, 480: 500 * time.Millisecond, 1920: 2 * time.Second, 3360: 3350 * time.Millisecond} {
		assert.Equal(t, want, f.TimeAt(tick), "tick %d", tick)
	}
	have := fmt.Sprint(f.Division, f.Ticks, f.Tempos, f.Meters, f.Markers)
	want := "480 3360 [{0 500000} {1920 450000}] [{0 4 4} {3360 6 8}] [{0 Intro false} {1920 Verse false} {1920 Cue 1 true}]"
	assert.Equal(t, want, have)
	var notes []string
	for _, e := range f.events {
		notes = append(notes, fmt.Sprintf("%d:% X", e.tick, e.bytes[:e.len]))
	}
	assert.Equal(t, "0:90 3C 64 480:90 3C 00 480:90 3E 64 960:80 3E 40 960:90 40 64 1440:90 40 00", strings.Join(notes, " "), "notes")
}

// At 24 ticks a quarter and 120 BPM a clock is 20.833333 ms (MIDI 1.0, by
// check figures in clock-intervals.csv).
func TestScheduleExactly(t *testing.T) {
	f := mustParse(t, file(0, 24, track("\x00\xC0\x05\x00\x90\x3C\x64\x01\x90\x3C\x00\x01\xFF\x51\x03\x03\xD0\x90\x01\xB0\x07\x7F\x00\xFF\x2F\x00")))
	want := `0s FA
1ms C0 05
1ms 90 3C 64
1ms F8
21.833333ms 90 3C 00
21.833333ms F8
42.666666ms F8
53.083333ms B0 07 7F
53.083333ms FC
`
	s := f.Schedule(0)
	assert.Equal(t, want, text(s.Entries))
	assert.Zero(t, s.StartIndex)
	assert.Equal(t, time.Millisecond, s.FirstTick)
	s = f.Schedule(1)
	pre := text(s.Entries[:s.StartIndex])
	assert.Equal(t, 24, strings.Count(pre, " F8\n"), "pre-roll\n%s", pre)
	assert.True(t, strings.HasPrefix(pre, "0s F8\n20.833333ms F8\n"), "pre-roll\n%s", pre)
	assert.Equal(t, "499ms FA\n500ms C0 05\n", text(s.Entries[s.StartIndex:s.StartIndex+2]), "start after pre-roll")
	assert.Equal(t, 500*time.Millisecond, s.FirstTick, "start after pre-roll")
}

// Without a tempo event 120 BPM holds (2.2), and in format 1 only the first
// track has the tempo map (2.2).
func TestScheduleTempoMap(t *testing.T) {
	f := mustParse(t, file(1, 96, track(endOfTrack), track("\x00\xFF\x51\x03\x0F\x42\x40\x60\x90\x3C\x40"+endOfTrack)))
	assert.Equal(t, 500*time.Millisecond, f.TimeAt(96), "a tempo in track 2 is not in the map")
	assert.Empty(t, f.Tempos, "a tempo in track 2 is not in the map")
	for _, row := range ReadCSV(t, "clock-intervals.csv") {
		us := row[4]
		f := mustParse(t, file(0, 480, track("\x00\xFF\x51\x03"+string(Unhex(t, us))+"\xB7\x00\xFF\x2F\x00")))
		s := f.Schedule(0)
		var ticks []time.Duration
		for _, e := range s.Entries {
			if e.Bytes[0] == timingClock {
				ticks = append(ticks, e.At-s.FirstTick)
			}
		}
		var quarter int64
		fmt.Sscan(row[3], &quarter)
		for k, at := range ticks { // the exact time, cut to the nanosecond
			require.Equal(t, time.Duration(int64(k)*quarter*1000/24), at, "%s BPM: clock %d", row[0], k)
		}
		want := 0x1B80/20 + 1
		assert.Len(t, ticks, (0x1B80+19)/20, "%s BPM, want %d", row[0], want)
	}
}

// Any file: time never runs back, clocks stand where the slow sum of the tempo
// map puts them, every channel message is there once, and before the clock of
// its moment.
func TestScheduleProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		division := rapid.SampledFrom([]int{1, 24, 96, 100, 480, 960, 32767}).Draw(t, "division")
		var conductor, part smf.Track
		type change struct {
			tick int64
			us   int64
		}
		changes := []change{{0, 500_000}}
		var tick int64
		for range rapid.IntRange(0, 5).Draw(t, "tempos") {
			d := uint32(rapid.IntRange(0, 3*division).Draw(t, "delta"))
			us := rapid.Int64Range(120_000, 2_000_000).Draw(t, "us")
			tick += int64(d)
			changes = append(changes, change{tick, us})
			conductor.Add(d, smf.Message([]byte{0xFF, 0x51, 3, byte(us >> 16), byte(us >> 8), byte(us)}))
		}
		conductor.Close(0)
		notes := rapid.IntRange(0, 10).Draw(t, "notes")
		for range notes {
			part.Add(uint32(rapid.IntRange(0, 2*division).Draw(t, "gap")), gomidi.NoteOn(1, 60, 100))
		}
		part.Close(uint32(rapid.IntRange(0, division).Draw(t, "tail")))
		out := smf.NewSMF1()
		out.TimeFormat = smf.MetricTicks(division)
		must(t, out.Add(conductor))
		must(t, out.Add(part))
		var buf strings.Builder
		_, err := out.WriteTo(&buf)
		require.NoError(t, err)
		f, err := ParseFile([]byte(buf.String()))
		require.NoError(t, err)
		slow := func(tick float64) float64 { // µs, in floating point
			var us float64
			for i, c := range changes {
				end := tick
				if i+1 < len(changes) {
					end = min(tick, float64(changes[i+1].tick))
				}
				us += max(0, end-float64(c.tick)) * float64(c.us) / float64(division)
			}
			return us
		}
		s := f.Schedule(rapid.IntRange(0, 2).Draw(t, "preroll"))
		var last time.Duration
		clocks, seen := 0, 0
		for i, e := range s.Entries {
			require.GreaterOrEqual(t, e.At, last, "entry %d", i)
			last = e.At
			switch {
			case i < s.StartIndex:
			case e.Bytes[0] == timingClock:
				want := slow(float64(clocks) * float64(division) / 24)
				got := float64(e.At-s.FirstTick) / 1000
				require.GreaterOrEqual(t, got, want-0.01, "clock %d at %f µs", clocks, got)
				require.LessOrEqual(t, got, want+0.01, "clock %d at %f µs", clocks, got)
				clocks++
			case e.Bytes[0] == 0x91:
				if i > 0 && s.Entries[i-1].Bytes[0] == timingClock && s.Entries[i-1].At == e.At {
					require.LessOrEqual(t, i-1, s.StartIndex, "entry %d: a note after the clock of its moment", i)
				}
				seen++
			}
		}
		require.Equal(t, notes, seen)
		require.Equal(t, int((f.Ticks*24+int64(division)-1)/int64(division)), clocks)
		require.Equal(t, start, s.Entries[s.StartIndex].Bytes[0], "Start or Stop is missing")
		require.Equal(t, stop, s.Entries[len(s.Entries)-1].Bytes[0], "Start or Stop is missing")
	})
}

func must(t *rapid.T, err error) {
	require.NoError(t, err)
}

// In fake time the port delivers each entry at its very moment.
func TestFilePortInFakeTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		fsys := fstest.MapFS{"a.mid": {Data: ReadHex(t, "packets/smf-format1-480.hex")}}
		p, err := OpenFile("a.mid", Options{FS: fsys, Number: 4, Preroll: 1})
		require.NoError(t, err)
		var status []Status
		in := NewInbox(clock.NewBase(), 4096, func(s Status) { status = append(status, s) })
		require.NoError(t, p.Run(t.Context(), in))
		want := p.File.Schedule(1).Entries
		require.Len(t, in.queue, len(want))
		for i, e := range want {
			m := <-in.Messages()
			require.Equal(t, clock.Time(e.At), m.At, "message %d", i)
			require.Equal(t, e.Bytes, m.Bytes, "message %d", i)
			require.Equal(t, e.Len, m.Len, "message %d", i)
			require.EqualValues(t, 4, m.Port, "message %d", i)
		}
		if assert.Len(t, status, 1) {
			assert.True(t, status[0].Up)
			assert.Equal(t, "file:a.mid", p.Name())
		}
	})
}

// A fake hour of loops does not drift: every round is the file's length plus
// the gap after Start.
func TestFilePortLoops(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		fsys := fstest.MapFS{"a.mid": {Data: ReadHex(t, "packets/smf-format1-480.hex")}}
		p, err := OpenFile("a.mid", Options{FS: fsys, Loop: true, Preroll: 1})
		require.NoError(t, err)
		in := NewInbox(clock.NewBase(), 1024, nil)
		ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
		defer cancel()
		done := make(chan error, 1)
		go func() { done <- p.Run(ctx, in) }()
		round := clock.Time(3351 * time.Millisecond)
		var starts, locates clock.Time
		for {
			select {
			case m := <-in.Messages():
				switch m.Kind() {
				case Start:
					require.Equal(t, clock.Time(499*time.Millisecond)+starts*round, m.At, "start %d", starts)
					starts++
				case SongPosition:
					require.Zero(t, m.SongSixteenths(), "locate")
					require.EqualValues(t, 3, m.Len, "locate")
					locates++
				}
				continue
			case err := <-done:
				assert.ErrorIs(t, err, context.DeadlineExceeded)
			}
			break
		}
		want := clock.Time(time.Hour)/round + 1
		assert.Equal(t, want, starts)
		assert.Equal(t, want-1, locates)
		var last Message
		for len(in.queue) > 0 {
			last = <-in.queue
		}
		assert.Equal(t, Lost, last.Kind(), "the last message of a file that was cut off")
	})
}

type recorder struct {
	base clock.Base
	got  []Entry
	raw  []byte
	fail error
}

func (r *recorder) Write(b []byte) (int, error) {
	r.got = append(r.got, Entry{At: time.Duration(r.base.Now()), Len: uint8(len(b))})
	r.raw = append(r.raw, b...)
	return len(b), r.fail
}

func TestSchedulePlaysToWriter(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := mustParse(t, ReadHex(t, "packets/smf-format1-480.hex")).Schedule(0)
		base := clock.NewBase()
		w := &recorder{base: base}
		require.NoError(t, s.Play(t.Context(), base, w))
		var stream Stream
		i := 0
		for _, write := range w.got {
			for _, b := range w.raw[:write.Len] {
				if m, ok := stream.Byte(b); ok {
					e := s.Entries[i]
					require.Equal(t, write.At, e.At, "entry %d", i)
					require.Equal(t, m.Bytes, e.Bytes, "entry %d", i)
					i++
				}
			}
			w.raw = w.raw[write.Len:]
		}
		assert.Equal(t, len(s.Entries), i)
		broken := &recorder{base: base, fail: errors.New("no space")}
		assert.ErrorIs(t, s.Play(t.Context(), base, broken), broken.fail)
		assert.Len(t, broken.got, 1)
	})
}
