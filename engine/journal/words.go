package journal

import (
	"strconv"
	"strings"

	"tactus/clock"
)

// words takes a line apart from the left. The first thing that is wrong stays.
type words struct {
	list []string
	bad  string
}

func (w *words) check(ok bool, what string) {
	if !ok && w.bad == "" {
		w.bad = what
	}
}

func (w *words) next() string {
	if len(w.list) == 0 {
		w.check(false, "its end")
		return ""
	}
	word := w.list[0]
	w.list = w.list[1:]
	return word
}

// have takes a word if it is next.
func (w *words) have(word string) bool {
	if len(w.list) == 0 || w.list[0] != word {
		return false
	}
	w.list = w.list[1:]
	return true
}

func (w *words) want(word string) { w.check(w.have(word), strconv.Quote(word)) }

func (w *words) uint(base, bits int) uint64 {
	word := w.next()
	n, err := strconv.ParseUint(word, base, bits)
	w.check(err == nil, strconv.Quote(word))
	return n
}

// count reads a number that stands behind a word, or is 0 without.
func (w *words) count(word string, bits int) uint64 {
	if !w.have(word) {
		return 0
	}
	return w.uint(10, bits)
}

func (w *words) int(word string, bits int) int64 {
	if !w.have(word) {
		return 0
	}
	text := w.next()
	n, err := strconv.ParseInt(text, 10, bits)
	w.check(err == nil, strconv.Quote(text))
	return n
}

func (w *words) level() float64 {
	word := w.next()
	x, err := strconv.ParseFloat(word, 64)
	w.check(err == nil, strconv.Quote(word))
	return x
}

// time reads seconds with nine decimals.
func (w *words) time() clock.Time {
	word := w.next()
	digits, minus := strings.CutPrefix(word, "-")
	whole, part, ok := strings.Cut(digits, ".")
	s, err := strconv.ParseUint(whole, 10, 32)
	n, err2 := strconv.ParseUint(part, 10, 32)
	t := clock.Time(s)*clock.Second + clock.Time(n)
	w.check(ok && err == nil && err2 == nil && len(part) == 9 && t <= mostTime, strconv.Quote(word))
	if minus {
		return -t
	}
	return t
}

// numbered reads a word from a list, or prefix and number for what has none.
func (w *words) numbered(word, prefix string, find func(string) (uint8, bool)) uint8 {
	if kind, ok := find(word); ok {
		return kind
	}
	text, ok := strings.CutPrefix(word, prefix)
	n, err := strconv.ParseUint(text, 10, 8)
	w.check(ok && err == nil, strconv.Quote(word))
	return uint8(n)
}
