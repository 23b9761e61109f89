package smf

import (
	"bytes"
	"encoding/hex"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"tactus/clock"
	"tactus/engine"
)

var update = flag.Bool("update", false, "rewrite the golden files; review the diff")

func write(t *testing.T, p *engine.Program) []byte {
	t.Helper()
	b, err := Write(p)
	require.NoError(t, err)
	return b
}

// listing prints a file as the library reads it, one event a line: track,
// microseconds, quarter notes, what.
func listing(t *testing.T, src []byte) string {
	t.Helper()
	file, err := smf.ReadFrom(bytes.NewReader(src))
	require.NoError(t, err)
	require.EqualValues(t, 1, file.Format(), "format")
	d, ok := file.TimeFormat.(smf.MetricTicks)
	require.True(t, ok, "division %v", file.TimeFormat)
	require.EqualValues(t, Division, d, "division %v", file.TimeFormat)
	var b strings.Builder
	for i, track := range file.Tracks {
		tick := int64(0)
		for _, e := range track {
			tick += int64(e.Delta)
			fmt.Fprintf(&b, "%d %10d us %8.3f q  %s\n", i+1, file.TimeAt(tick), float64(tick)/Division, what(t, e.Message))
		}
	}
	return b.String()
}

func what(t *testing.T, m smf.Message) string {
	t.Helper()
	var text string
	var bpm float64
	var num, denom, clocks, dsq, ch, a, v uint8
	switch {
	case m.GetMetaTrackName(&text):
		return "track " + text
	case m.GetMetaMarker(&text):
		return "marker " + text
	case m.GetMetaTempo(&bpm):
		return fmt.Sprintf("tempo %.3f", bpm)
	case m.GetMetaTimeSig(&num, &denom, &clocks, &dsq):
		return fmt.Sprintf("meter %d/%d click %d 32nds %d", num, denom, clocks, dsq)
	case m.Is(smf.MetaEndOfTrackMsg):
		return "end"
	case midi.Message(m).GetProgramChange(&ch, &a):
		return fmt.Sprintf("channel %d program %d", ch+1, a)
	case midi.Message(m).GetNoteOn(&ch, &a, &v):
		return fmt.Sprintf("channel %d note %d on %d", ch+1, a, v)
	case midi.Message(m).GetNoteOff(&ch, &a, &v):
		return fmt.Sprintf("channel %d note %d off", ch+1, a)
	}
	require.Fail(t, fmt.Sprintf("unexpected message % X", []byte(m)))
	return ""
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := "testdata/" + name
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "(run with -update once)")
	assert.Equal(t, string(want), got, "%s differs:\n%s", path, want)
}

// The listing is made by the library's reader, not by the code under test.
func TestWriteGolden(t *testing.T) {
	b := write(t, harbour(t))
	golden(t, "harbour.txt", listing(t, b))
	golden(t, "harbour.hex", hex.Dump(b))
}

func TestWriteTwice(t *testing.T) {
	p := harbour(t)
	assert.True(t, bytes.Equal(write(t, p), write(t, p)), "equal programs, other bytes")
	p.RunsOn = !p.RunsOn
	assert.True(t, bytes.Equal(write(t, harbour(t)), write(t, p)), "one timeline suits both kinds of song position; the bytes differ")
}

// Octets as the standard prints them: SMF 1.0, 3.1.
func TestMetaOctets(t *testing.T) {
	for _, c := range []struct {
		got  smf.Message
		want string
	}{
		{tempoEvent(microsPerQuarter(120_000_000)), "ff510307a120"},
		{tempoEvent(microsPerQuarter(133_333_333)), "ff510306ddd0"},
		{tempoEvent(microsPerQuarter(174_000_000)), "ff51030542fc"}, // testdata/reference/clock-intervals.csv
		{tempoEvent(microsPerQuarter(30_000_000)), "ff51031e8480"},  // likewise
		{tempoEvent(microsPerQuarter(0)), "ff510307a120"},           // 2.2
		{meterEvent(engine.Meter{Upper: 6, Lower: 8}), "ff580406032408"},
		{meterEvent(engine.Meter{Upper: 4, Lower: 4}), "ff580404021808"},
		{meterEvent(engine.Meter{Upper: 3, Lower: 8}), "ff580403030c08"}, // 12 clocks: an eighth
		{meterEvent(engine.Meter{Upper: 2, Lower: 2}), "ff580402013008"}, // 48: a half
		{meterEvent(engine.Meter{Upper: 12, Lower: 16}), "ff58040c041208"},
	} {
		assert.Equal(t, c.want, hex.EncodeToString(c.got))
	}
}

func TestWriteRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*engine.Program)
		want  error
	}{
		"no songs":    {func(p *engine.Program) { p.SetList = nil }, ErrEmpty},
		"no sections": {func(p *engine.Program) { p.SetList = []int32{0}; p.Songs[0].Sections = nil }, ErrEmpty},
		"no tempo":    {func(p *engine.Program) { p.Songs[1].Tempo = 0 }, ErrTempo},
		"too slow":    {func(p *engine.Program) { p.Songs[1].Tempo = clock.MinTempo - 1 }, ErrTempo},
		"too fast":    {func(p *engine.Program) { p.Songs[1].Tempo = clock.MaxTempo + 1 }, ErrTempo},
		"unselected":  {func(p *engine.Program) { p.Notes.ByProgram[1] = engine.None }, ErrSelect},
		"too long":    {func(p *engine.Program) { p.Songs[2].Sections[2].Length = 300_000 * clock.Quarter }, ErrLong},
	} {
		p := harbour(t)
		c.spoil(p)
		_, err := Write(p)
		assert.ErrorIs(t, err, c.want, name)
	}
}
