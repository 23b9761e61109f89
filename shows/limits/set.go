package limits

import (
	"strconv"
	"strings"
)

// Key names a limit.
type Key uint8

// Limit is a number by which check judges.
type Limit struct {
	Name    string  // its key under "judge" in show.yaml
	Unit    string  // "" for a plain number
	Default float64 // in the unit, as Least and Most
	Least   float64 // the least value that show.yaml may give
	Most    float64 // the highest
	Meaning string  // what it decides, in a sentence
	Reason  string  // the source of the default, or what it is taken from
}

// Text returns a value of the limit with its unit, such as "20 %".
func (l *Limit) Text(v float64) string {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	unit := l.Unit
	if v == 1 {
		unit = strings.TrimSuffix(unit, "s") // 1 bar
	}
	if l.Unit == "s" {
		unit = l.Unit
	}
	return strings.TrimSpace(text + " " + unit)
}

// Set has the values in force: the defaults, but for what a show adjusts. The zero Set
// and a nil one have the defaults.
type Set struct {
	own      [NumLimits]float64
	adjusted [NumLimits]bool
}

// Adjust gives a limit a value of the show's own, in its unit.
func (s *Set) Adjust(k Key, v float64) { s.own[k], s.adjusted[k] = v, true }

// Adjusted reports whether a limit has another value than its default.
func (s *Set) Adjusted(k Key) bool {
	return s != nil && s.adjusted[k] && s.own[k] != Table()[k].Default
}

// Value returns the value of a limit in its unit.
func (s *Set) Value(k Key) float64 {
	if s != nil && s.adjusted[k] {
		return s.own[k]
	}
	return Table()[k].Default
}

// Share returns the value of a limit in per cent as 0..1.
func (s *Set) Share(k Key) float64 { return s.Value(k) / 100 }

// Text returns the value of a limit with its unit, and says if the show adjusted it.
func (s *Set) Text(k Key) string {
	text := Table()[k].Text(s.Value(k))
	if s.Adjusted(k) {
		text += " (adjusted in show.yaml)"
	}
	return text
}

// AllAdjusted lists the limits that have another value than their default.
func (s *Set) AllAdjusted() (list []Key) {
	for k := range NumLimits {
		if s.Adjusted(k) {
			list = append(list, k)
		}
	}
	return list
}
