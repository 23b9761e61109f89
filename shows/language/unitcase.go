package language

import (
	"regexp"
	"strings"
)

// anyCase returns a pattern for a unit in small letters and capitals. It is one that
// every reader of a JSON Schema understands.
func anyCase(unit string) string {
	var b strings.Builder
	for _, r := range unit {
		small, capital := strings.ToLower(string(r)), strings.ToUpper(string(r))
		if small == capital {
			b.WriteRune(r)
			continue
		}
		b.WriteString("[" + small + capital + "]")
	}
	return b.String()
}

// letterRun matches a word made of ASCII letters.
var letterRun = regexp.MustCompile(`[A-Za-z]+`)

// canonicalUnits returns a text with its units as this package spells them: "76 BPM" as
// 76 bpm, "2 hz" as 2 Hz.
func canonicalUnits(text string) string {
	if strings.HasPrefix(text, "#") {
		return text // a colour in hexadecimal digits
	}
	return letterRun.ReplaceAllStringFunc(text, func(word string) string {
		switch small := strings.ToLower(word); small {
		case "bpm", "bar", "bars", "beat", "beats", "cycle", "cycles", "tint", "ms", "s", "m":
			return small
		case "hz":
			return "Hz"
		case "k", "w", "a", "v":
			return strings.ToUpper(word)
		}
		return word
	})
}

// shiftUnit matches the length at the end of a place such as "bridge - 1 beat".
var shiftUnit = regexp.MustCompile(`(?i) [+-] [0-9/]+ ?(beats?|bars?)$`)

// CanonicalPlace returns a place in a song with "bar" and "beat" in small letters. The
// name of the section stays as it is.
func CanonicalPlace(text string) string {
	name, inside, found := strings.Cut(text, ", ")
	if found {
		return name + ", " + strings.ToLower(inside)
	}
	return shiftUnit.ReplaceAllStringFunc(text, strings.ToLower)
}
