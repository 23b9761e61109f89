package journal

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// ErrLine is in every error of ParseRecord.
var ErrLine = errors.New("journal: not a record")

// maxTime bounds the times that are read: what the clock works in, so that
// sums of some do not overflow.
const maxTime clock.Time = 1 << 56

// AppendRecord appends a record's line, with its line feed.
//
//	TIME tick|start|stop|… STAMP [tempo MICROBPM | sixteenths N]
//	TIME do COMMAND [index N] [level X] [over T] [for T] [when N] [bars N] [param N]
//	TIME master LEVEL over T
//	TIME frame N CRC32C [missed N] [errors N]
//	TIME again N delay T
//	TIME gap N | dropped N | revised | end
func AppendRecord(b []byte, r *engine.Record) []byte {
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
		b = strconv.AppendUint(append(b, " frame "...), r.Frame, 10)
		b = fmt.Appendf(b, " %08x", r.Sum)
		b = appendCount(b, " missed ", r.Missed)
		b = appendCount(b, " errors ", r.Errors)
	case engine.RecordDelayedFrame:
		b = strconv.AppendUint(append(b, " again "...), r.Frame, 10)
		b = appendTime(append(b, " delay "...), r.Delay)
	case engine.RecordGap:
		b = strconv.AppendUint(append(b, " gap "...), r.Count, 10)
	case engine.RecordDropped:
		b = strconv.AppendUint(append(b, " dropped "...), r.Count, 10)
	case engine.RecordReload:
		b = append(b, " revised"...)
	case engine.RecordEnd:
		b = append(b, " end"...)
	}
	return append(b, '\n')
}

func appendEvent(b []byte, e *clock.Event) []byte {
	word := wordOf(eventWords(), e.Kind)
	if word == "" {
		word = "event-" + strconv.Itoa(int(e.Kind)) // the clock takes no notice of it
	}
	b = appendTime(append(append(append(b, ' '), word...), ' '), e.At)
	if e.Tempo != 0 {
		b = strconv.AppendInt(append(b, " tempo "...), int64(e.Tempo), 10)
	}
	if e.Sixteenths != 0 {
		b = strconv.AppendInt(append(b, " sixteenths "...), int64(e.Sixteenths), 10)
	}
	if e.Next != 0 {
		b = strconv.AppendInt(append(b, " at "...), int64(e.Beat), 10)
		b = strconv.AppendInt(append(b, " next "...), int64(e.Next), 10)
	}
	return b
}

func appendCommand(b []byte, c *engine.Command) []byte {
	word := CommandName(c.Kind)
	if word == "" {
		word = "command-" + strconv.Itoa(int(c.Kind)) // the show counts it
	}
	b = append(append(b, " do "...), word...)
	if c.Index != 0 {
		b = strconv.AppendInt(append(b, " index "...), int64(c.Index), 10)
	}
	if c.Level != 0 {
		b = appendLevel(append(b, " level "...), c.Level)
	}
	if c.Over != 0 {
		b = appendTime(append(b, " over "...), c.Over)
	}
	if c.For != 0 {
		b = appendTime(append(b, " for "...), c.For)
	}
	b = appendCount(b, " when ", uint64(c.When))
	b = appendCount(b, " bars ", uint64(c.Bars))
	return appendCount(b, " param ", uint64(c.Param))
}

func appendCount(b []byte, word string, n uint64) []byte {
	if n == 0 {
		return b
	}
	return strconv.AppendUint(append(b, word...), n, 10)
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

// ParseRecord reads a line without its line feed. Times are at most two years
// and a quarter, levels that the loop set itself within 0..1. Errors: ErrLine.
func ParseRecord(line string) (engine.Record, error) {
	w := &lineParser{rest: strings.Split(line, " ")}
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
		r.Event.Kind = clock.Kind(w.kindNumber(what, "event-", func(s string) (uint8, bool) {
			k, ok := kindOf(eventWords(), s)
			return uint8(k), ok
		}))
		r.Event.At = w.duration()
		r.Event.Tempo = clock.Tempo(w.optionalInt("tempo", 64))
		r.Event.Sixteenths = int32(w.optionalInt("sixteenths", 32))
		r.Event.Beat = clock.Beat(w.optionalInt("at", 64))
		r.Event.Next = clock.Tempo(w.optionalInt("next", 64))
	}
	w.expect(len(w.rest) == 0, "its end")
	if w.fault != "" {
		return engine.Record{}, fmt.Errorf("%w: %s is wrong in %.80q", ErrLine, w.fault, line)
	}
	return r, nil
}

func (w *lineParser) parseCommand(c *engine.Command) {
	c.Kind = engine.CommandKind(w.kindNumber(w.nextWord(), "command-", func(s string) (uint8, bool) {
		k, ok := commandByWord(s)
		return uint8(k), ok
	}))
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
