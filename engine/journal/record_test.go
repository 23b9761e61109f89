package journal_test

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/engine/journal"
)

// Every row of the table of commands is written by its word and read back, and by
// the words of older journals too.
func TestCommandsKeepTheirWords(t *testing.T) {
	older := 0
	for _, row := range commands.Table() {
		if row.Kind() == 0 {
			continue // the clock's, which has words of its own
		}
		want := engine.Record{Kind: engine.RecordCommand, At: clock.Second, Command: row.Command}
		line := string(journal.AppendRecord(nil, &want))
		require.True(t, strings.HasPrefix(line, "1.000000000 do "+row.JournalWord()), line)
		got, err := journal.ParseRecord(strings.TrimSuffix(line, "\n"))
		require.NoError(t, err)
		assert.Equal(t, want, got)
		for _, was := range row.FormerNames {
			got, err := journal.ParseRecord("1.000000000 do " + was)
			require.NoError(t, err)
			assert.Equal(t, row.Kind(), got.Command.Kind, was)
			older++
		}
	}
	assert.GreaterOrEqual(t, older, 2, "house-free and release-override")
}

// The form, for people who search it.
func TestRecordAsText(t *testing.T) {
	for _, c := range []struct {
		want string
		r    engine.Record
	}{
		{"12.005123456 tick 12.003998123", engine.Record{Kind: engine.RecordEvent, At: 12_005_123_456, Event: clock.Event{Kind: clock.Tick24, At: 12_003_998_123}}},
		{"0.000000001 locate -0.500000000 sixteenths 16", engine.Record{Kind: engine.RecordEvent, At: 1, Event: clock.Event{Kind: clock.Locate, At: -clock.Second / 2, Sixteenths: 16}}},
		{"1.000000000 planned 1.000000000 tempo 120000000 at 13440000 next 96000000", engine.Record{Kind: engine.RecordEvent, At: clock.Second, Event: clock.Event{Kind: clock.Planned, At: clock.Second, Tempo: clock.BPM(120), Beat: 2 * clock.Quarter, Next: clock.BPM(96)}}},
		{"1.000000000 tempo 1.000000000 tempo 120000000", engine.Record{Kind: engine.RecordEvent, At: clock.Second, Event: clock.Event{Kind: clock.SetTempo, At: clock.Second, Tempo: clock.BPM(120)}}},
		{"2.000000000 do fire-section index 3", engine.Record{Kind: engine.RecordCommand, At: 2 * clock.Second, Command: engine.Command{Kind: engine.FireSection, Index: 3}}},
		{"2.000000000 do group-master index 1 level 0.25 over 1.500000000", engine.Record{Kind: engine.RecordCommand, At: 2 * clock.Second, Command: engine.Command{Kind: engine.GroupMaster, Index: 1, Level: 0.25, Over: 3 * clock.Second / 2}}},
		{"3.000000000 frame 130 00c0ffee missed 2", engine.Record{Kind: engine.RecordFrame, At: 3 * clock.Second, Frame: 130, Sum: 0xc0ffee, Missed: 2}},
		{"3.000000000 again 129 delay 0.030000000", engine.Record{Kind: engine.RecordDelayedFrame, At: 3 * clock.Second, Frame: 129, Delay: 30 * clock.Millisecond}},
		{"0.000000000 master 1 over 2.000000000", engine.Record{Kind: engine.RecordMasterMove, Command: engine.Command{Level: 1, Over: 2 * clock.Second}}},
		{"4.000000000 gap 7", engine.Record{Kind: engine.RecordGap, At: 4 * clock.Second, Count: 7}},
		{"5.000000000 end", engine.Record{Kind: engine.RecordEnd, At: 5 * clock.Second}},
	} {
		assert.Equal(t, c.want+"\n", string(journal.AppendRecord(nil, &c.r)))
	}
	for _, bad := range []string{
		"", " ", "x", "1 end", "1.0 end", "1.000000000", "1.000000000 ", "1.000000000 end now", "1.000000000 frame", "1.000000000 frame -1 0",
		"1.000000000 frame 1 123456789", "1.000000000 do", "1.000000000 do dance", "1.000000000 do hold index 99999999999", "1.000000000 master 2 over 0.000000000",
		"1.000000000 master NaN over 0.000000000", "99999999999.000000000 end", "1.000000000 event-256 0.000000000", "1.00000000a end", "\x00\x00\x00",
	} {
		r, err := journal.ParseRecord(bad)
		assert.ErrorIs(t, err, journal.ErrLine, "%q: %+v", bad, r)
	}
}

func head() journal.Header {
	return journal.Header{
		Show: "my \"hall\"\n", Content: "0123abcd", Set: "november", Program: "tactus (devel) linux/amd64",
		Started: time.Date(2026, 11, 27, 19, 28, 2, 104_518_001, time.UTC),
		Clock:   clock.Config{Lead: clock.LeadTap, Internal: clock.BPM(72), Ahead: 110 * clock.Millisecond},
		Lead:    60 * clock.Millisecond, To: "127.0.0.1:5568", Interface: "eth0", Protocol: "sacn", CID: [16]byte{1, 15: 2},
	}
}

func file(list ...engine.Record) []byte {
	h := head()
	b := h.AppendTo(nil)
	for i := range list {
		b = journal.AppendRecord(b, &list[i])
	}
	return b
}

// A journal that is cut anywhere is read up to its last whole line, and told.
func TestCutJournalIsReadToItsLastWholeLine(t *testing.T) {
	list := []engine.Record{
		{Kind: engine.RecordEvent, At: 1, Event: clock.Event{Kind: clock.Start, At: 1}},
		{Kind: engine.RecordFrame, At: 2, Frame: 1, Sum: 3},
		{Kind: engine.RecordEnd, At: 3},
	}
	whole, h := file(list...), head()
	start := len(h.AppendTo(nil))
	for cut := range len(whole) + 1 {
		j, err := journal.NewReader(bytes.NewReader(whole[:cut]))
		if cut < start {
			require.Error(t, err, "cut at %d: the head was taken", cut)
			continue
		}
		require.NoError(t, err, "cut at %d", cut)
		require.Equal(t, head(), j.Header, "cut at %d", cut)
		n := 0
		for ; err == nil; n++ {
			var r engine.Record
			if r, err = j.Next(); err == nil {
				require.Equal(t, list[n], r, "record %d", n)
			}
		}
		lines := bytes.Count(whole[start:cut], []byte("\n"))
		want := io.EOF
		if whole[cut-1] != '\n' {
			want = journal.ErrCut
		}
		require.Equal(t, lines, n-1, "cut at %d", cut)
		require.ErrorIs(t, err, want, "cut at %d", cut)
	}
}

// Whatever a file holds, reading ends with an error and not otherwise, and what
// was read can be written and read again.
func FuzzReader(f *testing.F) {
	f.Add(file())
	f.Add(file(engine.Record{Kind: engine.RecordFrame, At: 2, Frame: 1, Sum: 3, Missed: 1, Errors: 1}, engine.Record{Kind: engine.RecordEnd, At: 3}))
	f.Add(file(engine.Record{Kind: engine.RecordCommand, Command: engine.Command{Kind: engine.Override, Index: -1, Level: math.Inf(1), For: 1}}))
	f.Add(append(file(engine.Record{Kind: engine.RecordGap, Count: 7}), "1.000000000 fra"...))
	f.Add(append(file(), make([]byte, 512)...))
	f.Add([]byte("tactus journal 2\n\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		j, err := journal.NewReader(bytes.NewReader(src))
		if err != nil {
			return
		}
		for {
			r, err := j.Next()
			if err != nil {
				return
			}
			line := string(journal.AppendRecord(nil, &r))
			again, err := journal.ParseRecord(line[:len(line)-1])
			require.NoError(t, err, again)
			require.Equal(t, line, string(journal.AppendRecord(nil, &again)), again)
		}
	})
}
