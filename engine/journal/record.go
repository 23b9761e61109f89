package journal

import (
	"errors"
	"fmt"
	"strconv"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// ErrLine is in every error of ParseRecord.
var ErrLine = errors.New("journal: not a record")

// maxTime is the longest time that is read, about 2.3 years: sums of a few times do
// not overflow.
const maxTime clock.Time = 1 << 56

// AppendRecord appends a record's line, with its line feed. A RecordCheckpoint has none: a
// journal begins with the show.
//
//	TIME tick|start|stop|… STAMP [tempo MICROBPM | sixteenths N]
//	TIME do COMMAND [index N] [level X] [over T] [for T] [when N] [bars N] [param N]
//	TIME master LEVEL over T
//	TIME frame N CRC32C [missed N] [errors N]
//	TIME again N delay T
//	TIME levels INPUT present|gone [SLOT=LEVEL ...]
//	TIME gap N | dropped N | revised | end
func AppendRecord(b []byte, r *engine.Record) []byte {
	if r.Kind == engine.RecordCheckpoint {
		return b
	}
	b = appendTime(b, r.At)
	switch r.Kind {
	case engine.RecordEvent:
		b = appendEvent(b, &r.Event)
	case engine.RecordCommand:
		b = appendCommand(b, &r.Command)
	case engine.RecordMasterMove:
		b = appendLevel(append(b, " master "...), r.Command.Level)
		b = appendTime(append(b, " over "...), r.Command.Over)
	case engine.RecordFrame:
		b = fmt.Appendf(b, " frame %d %08x", r.Frame, r.Sum)
		b = appendNonZero(b, " missed ", r.Missed)
		b = appendNonZero(b, " errors ", r.Errors)
	case engine.RecordDelayedFrame:
		b = appendTime(fmt.Appendf(b, " again %d delay ", r.Frame), r.Delay)
	case engine.RecordLevels:
		b = appendLevels(b, &r.Levels)
	case engine.RecordGap:
		b = fmt.Appendf(b, " gap %d", r.Count)
	case engine.RecordDropped:
		b = fmt.Appendf(b, " dropped %d", r.Count)
	case engine.RecordReload:
		b = append(b, " revised"...)
	case engine.RecordEnd:
		b = append(b, " end"...)
	}
	return append(b, '\n')
}

func appendEvent(b []byte, e *clock.Event) []byte {
	word := eventName(e.Kind)
	if word == "" {
		word = "event-" + strconv.Itoa(int(e.Kind)) // the clock ignores it
	}
	b = appendTime(append(append(append(b, ' '), word...), ' '), e.At)
	b = appendNonZero(b, " tempo ", int64(e.Tempo))
	b = appendNonZero(b, " sixteenths ", e.Sixteenths)
	if e.Next != 0 {
		b = fmt.Appendf(b, " at %d next %d", int64(e.Beat), int64(e.Next))
	}
	return b
}

func appendCommand(b []byte, c *engine.Command) []byte {
	word := CommandName(c.Kind)
	if word == "" {
		word = "command-" + strconv.Itoa(int(c.Kind)) // the show counts it
	}
	b = append(append(b, " do "...), word...)
	b = appendNonZero(b, " index ", c.Index)
	if c.Level != 0 {
		b = appendLevel(append(b, " level "...), c.Level)
	}
	if c.Over != 0 {
		b = appendTime(append(b, " over "...), c.Over)
	}
	if c.For != 0 {
		b = appendTime(append(b, " for "...), c.For)
	}
	b = appendNonZero(b, " when ", uint8(c.When))
	b = appendNonZero(b, " bars ", c.Bars)
	return appendNonZero(b, " param ", uint8(c.Param))
}

func appendNonZero[N int32 | int64 | uint8 | uint64](b []byte, word string, n N) []byte {
	if n == 0 {
		return b
	}
	return fmt.Append(append(b, word...), n)
}

// appendLevel writes the shortest number that reads back as the same one.
func appendLevel(b []byte, x float64) []byte { return strconv.AppendFloat(b, x, 'g', -1, 64) }

func appendTime(b []byte, t clock.Time) []byte {
	u := uint64(t)
	if t < 0 {
		b, u = append(b, '-'), -u
	}
	b = strconv.AppendUint(b, u/uint64(clock.Second), 10)
	return fmt.Appendf(b, ".%09d", u%uint64(clock.Second))
}

// ParseRecord reads a line without its line feed. Times are at most about 2.3 years,
// levels of the master within 0..1. Errors: ErrLine.
func ParseRecord(line string) (engine.Record, error) {
	w := newLineParser(line)
	r := engine.Record{At: w.duration()}
	what := w.nextWord()
	switch what {
	case "do":
		r.Kind = engine.RecordCommand
		w.parseCommand(&r.Command)
	case "master":
		r.Kind = engine.RecordMasterMove
		r.Command = engine.Command{Kind: engine.GrandMaster, Level: w.float()}
		w.acceptOrFail("over")
		r.Command.Over = w.duration()
		w.expect(r.Command.Level >= 0 && r.Command.Level <= 1, "its level")
	case "frame":
		r.Kind = engine.RecordFrame
		r.Frame = w.uint(10, 64)
		r.Sum = uint32(w.uint(16, 32))
		r.Missed = w.optionalUint("missed", 64)
		r.Errors = w.optionalUint("errors", 64)
	case "again":
		r.Kind = engine.RecordDelayedFrame
		r.Frame = w.uint(10, 64)
		w.acceptOrFail("delay")
		r.Delay = w.duration()
	case "levels":
		r.Kind = engine.RecordLevels
		w.parseLevels(&r.Levels)
	case "gap":
		r.Kind, r.Count = engine.RecordGap, w.uint(10, 64)
	case "dropped":
		r.Kind, r.Count = engine.RecordDropped, w.uint(10, 64)
	case "revised":
		r.Kind = engine.RecordReload
	case "end":
		r.Kind = engine.RecordEnd
	default:
		r.Kind = engine.RecordEvent
		r.Event.Kind = parseKind(w, what, "event-", eventByWord)
		r.Event.At = w.duration()
		r.Event.Tempo = clock.Tempo(w.optionalInt("tempo", 64))
		r.Event.Sixteenths = int32(w.optionalInt("sixteenths", 32))
		r.Event.Beat = clock.Beat(w.optionalInt("at", 64))
		r.Event.Next = clock.Tempo(w.optionalInt("next", 64))
	}
	if err := w.end(); err != nil {
		return engine.Record{}, fmt.Errorf("%w: %w in %.80q", ErrLine, err, line)
	}
	return r, nil
}

func (w *lineParser) parseCommand(c *engine.Command) {
	c.Kind = parseKind(w, w.nextWord(), "command-", commandByWord)
	c.Index = int32(w.optionalInt("index", 32))
	if w.accept("level") {
		c.Level = w.float()
	}
	if w.accept("over") {
		c.Over = w.duration()
	}
	if w.accept("for") {
		c.For = w.duration()
	}
	c.When = engine.When(w.optionalUint("when", 8))
	c.Bars = uint8(w.optionalUint("bars", 8))
	c.Param = fixtures.Param(w.optionalUint("param", 8))
}
