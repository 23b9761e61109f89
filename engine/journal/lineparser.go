package journal

import (
	"fmt"
	"strconv"
	"strings"

	"tactus/clock"
)

// lineParser reads the words of a line from the left. It keeps the first fault.
type lineParser struct {
	rest  []string
	fault string
}

func newLineParser(line string) *lineParser { return &lineParser{rest: strings.Split(line, " ")} }

// expect keeps what as the fault unless ok.
func (w *lineParser) expect(ok bool, what string) {
	if !ok && w.fault == "" {
		w.fault = what
	}
}

// end returns the fault of a line that has to end here.
func (w *lineParser) end() error {
	w.expect(len(w.rest) == 0, "its end")
	if w.fault != "" {
		return fmt.Errorf("%s is wrong", w.fault)
	}
	return nil
}

func (w *lineParser) nextWord() string {
	if len(w.rest) == 0 {
		w.expect(false, "its end")
		return ""
	}
	word := w.rest[0]
	w.rest = w.rest[1:]
	return word
}

// accept skips a word if it is next.
func (w *lineParser) accept(word string) bool {
	if len(w.rest) == 0 || w.rest[0] != word {
		return false
	}
	w.rest = w.rest[1:]
	return true
}

func (w *lineParser) acceptOrFail(word string) { w.expect(w.accept(word), strconv.Quote(word)) }

func (w *lineParser) uint(base, bits int) uint64 {
	word := w.nextWord()
	n, err := strconv.ParseUint(word, base, bits)
	w.expect(err == nil, strconv.Quote(word))
	return n
}

// optionalUint reads the number after a word; it is 0 without the word.
func (w *lineParser) optionalUint(word string, bits int) uint64 {
	if !w.accept(word) {
		return 0
	}
	return w.uint(10, bits)
}

func (w *lineParser) optionalInt(word string, bits int) int64 {
	if !w.accept(word) {
		return 0
	}
	text := w.nextWord()
	n, err := strconv.ParseInt(text, 10, bits)
	w.expect(err == nil, strconv.Quote(text))
	return n
}

func (w *lineParser) float() float64 {
	word := w.nextWord()
	x, err := strconv.ParseFloat(word, 64)
	w.expect(err == nil, strconv.Quote(word))
	return x
}

// duration reads seconds with nine decimals, at most maxTime either way.
func (w *lineParser) duration() clock.Time {
	word := w.nextWord()
	digits, minus := strings.CutPrefix(word, "-")
	whole, part, ok := strings.Cut(digits, ".")
	s, err := strconv.ParseUint(whole, 10, 32)
	n, err2 := strconv.ParseUint(part, 10, 32)
	t := clock.Time(s)*clock.Second + clock.Time(n)
	w.expect(ok && err == nil && err2 == nil && len(part) == 9 && t <= maxTime, strconv.Quote(word))
	if minus {
		return -t
	}
	return t
}

// parseKind returns the kind of a word, or the number behind the prefix for a kind that
// has no word.
func parseKind[K ~uint8](w *lineParser, word, prefix string, byWord func(string) (K, bool)) K {
	if kind, ok := byWord(word); ok {
		return kind
	}
	text, ok := strings.CutPrefix(word, prefix)
	n, err := strconv.ParseUint(text, 10, 8)
	w.expect(ok && err == nil, strconv.Quote(word))
	return K(n)
}
