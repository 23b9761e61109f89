package language

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Listed prints "looks are: a, b, c". It lists every name, because each can be the one
// that is wanted.
func Listed(lead string, names []string) string {
	if len(names) == 0 {
		return "there are none"
	}
	return lead + ": " + strings.Join(names, ", ")
}

// numbered matches a name that ends in a number without a needless 0: "wash 3".
var numbered = regexp.MustCompile(`^(.*\S) (0|[1-9][0-9]{0,8})$`)

// Ranges returns names with each run of three or more that count upwards, such as
// wash 1, wash 2, wash 3, as one range: wash 1-3. Rig and looks files name fixtures so.
func Ranges(names []string) (list []string) {
	for i := 0; i < len(names); {
		base, first, ok := splitNumber(names[i])
		n := 1
		for ; ok && i+n < len(names); n++ {
			if next, number, ok := splitNumber(names[i+n]); !ok || next != base || number != first+n {
				break
			}
		}
		if n > 2 {
			list = append(list, fmt.Sprintf("%s %d-%d", base, first, first+n-1))
		} else {
			list = append(list, names[i:i+n]...)
		}
		i += n
	}
	return list
}

// splitNumber splits "wash 3" into its text and its number.
func splitNumber(name string) (base string, number int, ok bool) {
	m := numbered.FindStringSubmatch(name)
	if m == nil {
		return "", 0, false
	}
	number, err := strconv.Atoi(m[2])
	return m[1], number, err == nil
}

// WrapList breaks a message that ends in a list of more than 12 names, such as
// `no look "ember"; looks are: a, b, c`, for a terminal: the list begins a line of its
// own, which is indented, and goes on over as many as it takes with up to wide letters
// each. Other messages stay as they are.
func WrapList(message string, wide int) string {
	const indent = "    "
	const most = 12
	at := strings.LastIndex(message, " are: ")
	start := strings.LastIndex(message[:max(0, at)], "; ")
	if start < 0 || strings.Count(message[at:], ", ") < most {
		return message
	}
	var b strings.Builder
	b.WriteString(message[:start+1])
	used := wide // the first name begins a line
	for i, name := range strings.SplitAfter(message[start+2:], ", ") {
		letters := utf8.RuneCountInString(strings.TrimSuffix(name, " "))
		if used+1+letters > wide {
			b.WriteString("\n" + indent)
			used = len(indent)
		} else if i > 0 {
			b.WriteByte(' ')
			used++
		}
		b.WriteString(strings.TrimSuffix(name, " "))
		used += letters
	}
	return b.String()
}
