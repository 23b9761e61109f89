package language

import (
	"fmt"
	"regexp"
	"strconv"

	"tactus/clock"
	"tactus/engine"
)

// Minutes prints a duration in minutes and seconds, to the nearest second: "6:09".
func Minutes(t clock.Time) string {
	seconds := (t + clock.Second/2) / clock.Second
	return fmt.Sprintf("%d:%02d", seconds/60, seconds%60)
}

// Count prints a number of things: "1 bar", "2 bars".
func Count[N int | int64](n N, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// Length prints a musical length as show files write it: "2 bars", "1/2 beat".
func Length(l engine.Length) string {
	unit := "beat"
	if l.Bars {
		unit = "bar"
	}
	if l.Den <= 1 {
		return Count(int64(l.Num), unit)
	}
	if l.Num > l.Den {
		unit += "s"
	}
	return fmt.Sprintf("%d/%d %s", l.Num, l.Den, unit)
}

var (
	unquoted = regexp.MustCompile(`^\p{L}([\p{L}\p{N} /+'’.-]*[\p{L}\p{N}/+'’.-])?$|^[0-9]+(\.[0-9]+)? ?%$`)
	literal  = regexp.MustCompile(`^(?i:y|yes|n|no|on|off|true|false|null|nan|inf)$`)
)

// Quote puts text in quotes unless YAML 1.1 and 1.2 both read it as the same text
// without them.
func Quote(text string) string {
	if unquoted.MatchString(text) && !literal.MatchString(text) {
		return text
	}
	return strconv.Quote(text)
}
