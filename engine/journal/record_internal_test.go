package journal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// records draws what a loop may record, sense or nonsense. Each kind holds only
// what belongs to it.
func records() *rapid.Generator[engine.Record] {
	return rapid.Custom(func(t *rapid.T) engine.Record {
		span := func(name string) clock.Time {
			return clock.Time(rapid.Int64Range(-int64(maxTime), int64(maxTime)).Draw(t, name))
		}
		r := engine.Record{Kind: engine.RecordKind(rapid.IntRange(1, int(engine.NumRecords)-1).Draw(t, "kind")), At: span("at")}
		switch r.Kind {
		case engine.RecordEvent:
			r.Event = clock.Event{
				At: span("stamp"), Kind: clock.Kind(rapid.Uint8().Draw(t, "event")),
				Sixteenths: rapid.Int32().Draw(t, "sixteenths"), Tempo: clock.Tempo(rapid.Int64().Draw(t, "tempo")),
			}
		case engine.RecordCommand:
			r.Command = engine.Command{
				Kind: engine.CommandKind(rapid.Uint8().Draw(t, "command")), When: engine.When(rapid.Uint8().Draw(t, "when")),
				Param: fixtures.Param(rapid.Uint8().Draw(t, "param")), Bars: rapid.Uint8().Draw(t, "bars"),
				Index: rapid.Int32().Draw(t, "index"), Level: rapid.Float64().Draw(t, "level"), Over: span("over"), For: span("for"),
			}
		case engine.RecordMasterMove:
			r.Command = engine.Command{Kind: engine.GrandMaster, Level: rapid.Float64Range(0, 1).Draw(t, "level"), Over: span("over")}
		case engine.RecordFrame:
			r.Frame, r.Sum = rapid.Uint64().Draw(t, "frame"), rapid.Uint32().Draw(t, "sum")
			r.Missed, r.Errors = rapid.Uint64().Draw(t, "missed"), rapid.Uint64().Draw(t, "errors")
		case engine.RecordDelayedFrame:
			r.Frame, r.Delay = rapid.Uint64().Draw(t, "frame"), span("delay")
		case engine.RecordLevels:
			r.Levels.Input = rapid.Int32().Draw(t, "input")
			if r.Levels.Present = rapid.Bool().Draw(t, "present"); r.Levels.Present {
				for range rapid.IntRange(0, 20).Draw(t, "slots") {
					slot := rapid.IntRange(1, 512).Draw(t, "slot")
					r.Levels.Changed.Add(slot)
					r.Levels.Levels[slot-1] = rapid.Uint8().Draw(t, "level")
				}
			}
		case engine.RecordGap, engine.RecordDropped:
			r.Count = rapid.Uint64().Draw(t, "count")
		}
		return r
	})
}

// A line says all of its record, to the last bit.
func TestRecordReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := records().Draw(t, "record")
		line := AppendRecord(nil, &r)
		got, err := ParseRecord(string(line[:len(line)-1]))
		require.NoError(t, err, "%q", line)
		require.Equal(t, r, got, "%q", line)
	})
	nan := engine.Record{Kind: engine.RecordCommand, Command: engine.Command{Kind: engine.GrandMaster, Level: math.NaN()}}
	line := AppendRecord(nil, &nan)
	got, err := ParseRecord(string(line[:len(line)-1]))
	assert.NoError(t, err, "%q", line)
	assert.True(t, math.IsNaN(got.Command.Level), "%q", line)
}

// Every command and event has a word of its own: numbers are for what does not
// exist. Fails when a kind is added without a row in the table of commands, or an
// event without a line in names.go.
func TestEveryKindHasItsWord(t *testing.T) {
	seen := map[string]bool{}
	for k := engine.SelectSong; k < engine.NumCommands; k++ {
		word := CommandName(k)
		assert.NotEmpty(t, word, "command %d", k)
		assert.False(t, seen[word], "command %d", k)
		seen[word] = true
	}
	for k := clock.Tick24; k <= clock.Planned; k++ {
		word := eventName(k)
		assert.NotEmpty(t, word, "event %d", k)
		assert.False(t, seen[word], "event %d", k)
		seen[word] = true
	}
}

// A checkpoint in the queue leaves no line.
func TestCheckpointHasNoLine(t *testing.T) {
	r := engine.Record{Kind: engine.RecordCheckpoint, At: clock.Second, Checkpoint: []byte{1}}
	assert.Equal(t, "before\n", string(AppendRecord([]byte("before\n"), &r)))
}
