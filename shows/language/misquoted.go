package language

import "strings"

// misquoted looks for quotes that are not closed on their line or close too early, and
// for colours without quotes, where "#" begins a comment. It is used only on text that
// is not YAML: the YAML library reports such a fault lines later. It returns line 0 if
// it finds none.
func misquoted(src []byte) (line, column int, what string) {
	depth := 0 // open brackets
	for i, text := range strings.Split(string(src), "\n") {
		if column, what := misquotedLine([]rune(strings.TrimRight(text, "\r")), &depth); what != "" {
			return i + 1, column, what
		}
	}
	return 0, 0, ""
}

// misquotedLine checks the quotes of a line and counts its open brackets in depth. It
// returns the column and description of a fault, or "".
func misquotedLine(runes []rune, depth *int) (column int, what string) {
	starts := true    // whether a value may start here
	last := rune(' ') // the last character that is not a space
	for i := 0; i < len(runes); i++ {
		r := runes[i]
		switch {
		case r == ' ':
			starts = starts || last == ':' || last == '-'
			continue
		case r == '#' && (i == 0 || runes[i-1] == ' '):
			if *depth > 0 && last == ':' {
				return i + 1, `"#" begins a comment here; a colour goes in quotes, such as "#ff8040"`
			}
			return 0, ""
		case starts && (r == '"' || r == '\''):
			end := closing(runes, i)
			if end < 0 {
				return i + 1, "a quote opens here and is not closed on its line"
			}
			if what := problemAfterQuote(runes[end+1:]); what != "" {
				return end + 1, what
			}
			i = end
		case r == '{' || r == '[':
			*depth++
		case r == '}' || r == ']':
			*depth = max(0, *depth-1)
		}
		starts = strings.ContainsRune("{[,", r)
		last = r
	}
	return 0, ""
}

// closing returns where the quote that opens at i ends, or -1.
func closing(runes []rune, i int) int {
	quote := runes[i]
	for i++; i < len(runes); i++ {
		switch {
		case runes[i] == '\\' && quote == '"':
			i++
		case runes[i] != quote:
		case quote == '\'' && i+1 < len(runes) && runes[i+1] == quote:
			i++
		default:
			return i
		}
	}
	return -1
}

// problemAfterQuote describes what is wrong with the text after a closing quote, or returns "".
func problemAfterQuote(rest []rune) string {
	text := strings.TrimLeft(string(rest), " ")
	if text == "" || strings.ContainsAny(text[:1], ",]}:") || text[0] == '#' && len(text) < len(string(rest)) {
		return ""
	}
	return "a quote closes here, but text follows; a quote is missing on this line, or one too many"
}
