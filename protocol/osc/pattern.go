package osc

import "strings"

// maxPart is the longest part of an address that Match compares.
const maxPart = 255

// Match reports whether an address pattern matches an address. Both have the same number of
// parts between slashes, and each part matches (OSC 1.0, OSC Message
// Dispatching and Pattern Matching):
//
//	?  any one character          [abc] [a-z] [!abc]  one of, one not of
//	*  any characters, or none    {foo,bar}           one of the strings
//
// A pattern that is not complete, as "[a", matches nothing; so does a part of
// more than 255 octets. Time grows with pattern times address, whatever they
// are; nothing is allocated.
func Match(pattern, address string) bool {
	for {
		p, restP, moreP := strings.Cut(pattern, "/")
		a, restA, moreA := strings.Cut(address, "/")
		if moreP != moreA || !matchPart(p, a) {
			return false
		}
		if !moreP {
			return true
		}
		pattern, address = restP, restA
	}
}

// offsets tells of each offset into a part whether the pattern, as far as it was
// read, can match up to there.
type offsets [maxPart + 1]bool

// matchPart reads the pattern once and keeps all offsets that it can match up to.
func matchPart(pattern, part string) bool {
	if len(part) > maxPart {
		return false
	}
	var at offsets
	at[0] = true
	for len(pattern) > 0 {
		var next offsets
		used := 1
		switch c := pattern[0]; c {
		case '*':
			seen := false
			for i := range len(part) + 1 {
				seen = seen || at[i]
				next[i] = seen
			}
		case '[':
			end := strings.IndexByte(pattern, ']')
			if end < 0 {
				return false
			}
			advance(&at, &next, part, pattern[1:end], inClass)
			used = end + 1
		case '{':
			end := strings.IndexByte(pattern, '}')
			if end < 0 {
				return false
			}
			advanceByAny(&at, &next, part, pattern[1:end])
			used = end + 1
		case '?':
			advance(&at, &next, part, "", func(string, byte) bool { return true })
		default:
			advance(&at, &next, part, pattern[:1], func(want string, have byte) bool { return want[0] == have })
		}
		at, pattern = next, pattern[used:]
	}
	return at[len(part)]
}

// advance moves every offset past one character, if that fits.
func advance(at, next *offsets, part, class string, fits func(string, byte) bool) {
	for i := range len(part) {
		if at[i] && fits(class, part[i]) {
			next[i+1] = true
		}
	}
}

// advanceByAny moves every offset past each string of a list that stands there.
func advanceByAny(at, next *offsets, part, list string) {
	for {
		s, rest, more := strings.Cut(list, ",")
		for i := range len(part) + 1 {
			if at[i] && strings.HasPrefix(part[i:], s) {
				next[i+len(s)] = true
			}
		}
		if !more {
			return
		}
		list = rest
	}
}

// inClass reads what stands between brackets: "!" counts at the front only,
// "-" between two characters only.
func inClass(class string, c byte) bool {
	not := strings.HasPrefix(class, "!")
	if not {
		class = class[1:]
	}
	for i := 0; i < len(class); i++ {
		low, high := class[i], class[i]
		if i+2 < len(class) && class[i+1] == '-' {
			high = class[i+2]
			i += 2
		}
		if c >= low && c <= high {
			return !not
		}
	}
	return not
}
