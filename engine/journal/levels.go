package journal

import (
	"strconv"
	"strings"

	"tactus/engine"
	"tactus/protocol/dmx"
)

// appendLevels appends what came of a level input: the slots that changed.
func appendLevels(b []byte, l *engine.InputLevels) []byte {
	b = strconv.AppendInt(append(b, " levels "...), int64(l.Input), 10)
	if !l.Present {
		return append(b, " gone"...)
	}
	b = append(b, " present"...)
	for slot := 1; slot <= dmx.Slots; slot++ {
		if l.Changed.Has(slot) {
			b = strconv.AppendInt(append(b, ' '), int64(slot), 10)
			b = strconv.AppendUint(append(b, '='), uint64(l.Levels[slot-1]), 10)
		}
	}
	return b
}

// parseLevels reads the rest of a line with levels. Slots are 1 to 512, in order, and
// levels 0 to 255.
func (w *lineParser) parseLevels(l *engine.InputLevels) {
	word := w.nextWord()
	input, err := strconv.ParseInt(word, 10, 32)
	w.expect(err == nil, strconv.Quote(word))
	l.Input = int32(input)
	if w.accept("gone") {
		return
	}
	w.acceptOrFail("present")
	l.Present = true
	for last := 0; len(w.rest) > 0 && w.fault == ""; {
		word := w.nextWord()
		left, right, _ := strings.Cut(word, "=")
		slot, err := strconv.ParseUint(left, 10, 16)
		level, err2 := strconv.ParseUint(right, 10, 8)
		ok := err == nil && err2 == nil && int(slot) > last && slot <= dmx.Slots
		w.expect(ok, strconv.Quote(word))
		if ok {
			last = int(slot)
			l.Changed.Add(last)
			l.Levels[last-1] = byte(level)
		}
	}
}
