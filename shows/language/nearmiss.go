package language

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

const isQuoted = yaml.DoubleQuotedStyle | yaml.SingleQuotedStyle | yaml.LiteralStyle | yaml.FoldedStyle

// accepts reports whether a text fits a word's shape.
func (s *shape) accepts(text string) bool {
	if s.options != nil {
		return slices.Contains(s.options, text)
	}
	return s.pattern != nil && s.Matches(text)
}

var (
	decimalComma = regexp.MustCompile(`([0-9]),([0-9])`)
	leadingInt   = regexp.MustCompile(`^(-?(?:0|[1-9][0-9]*)) ?[\p{L}%.]+$`)
)

// explainMismatch says why a text does not fit a word's shape, and what to write if it
// is a slip that can be named: a lookalike, a decimal comma, a full stop behind it.
func (s *shape) explainMismatch(text string) (what, allowed string) {
	shown := strconv.Quote(Shorten(text))
	var reasons []string
	meant := plainText(text)
	if odd := lookalikesIn(text); odd != "" {
		reasons = append(reasons, odd)
	}
	if s.unit || s.canonical != nil {
		if point := decimalComma.ReplaceAllString(meant, "$1.$2"); point != meant && !s.accepts(meant) {
			meant, reasons = point, append(reasons, "a decimal comma")
		}
	}
	if cut := strings.TrimRight(meant, ".,;:"); cut != meant && cut != "" && !s.accepts(meant) {
		reasons = append(reasons, strconv.Quote(meant[len(cut):])+" at its end")
		meant = cut
	}
	switch has := strings.Join(reasons, " and "); {
	case has != "" && s.accepts(meant):
		return fmt.Sprintf("%s has %s", shown, has), "write " + asWritten(meant)
	case lookalikesIn(text) != "":
		return fmt.Sprintf("%s does not fit here, and it has %s", shown, lookalikesIn(text)), "want " + s.called
	case s.unit && LeadingZero(text):
		return shown + " starts with a needless 0", "want " + s.called
	}
	return shown + " does not fit here", "want " + s.called
}

// explainNoNumber says why a text is no whole number from low to high, and what to write
// if it holds one.
func explainNoNumber(n *yaml.Node, low, high int64) (what, write string) {
	text := n.Value
	meant := plainText(text)
	reason := "in quotes is text, not a number"
	switch m := leadingInt.FindStringSubmatch(meant); {
	case lookalikesIn(text) != "":
		reason = "has " + lookalikesIn(text)
	case m != nil:
		meant, reason = m[1], "is not a whole number alone"
	case n.Style&isQuoted == 0:
		reason = ""
	}
	if i, err := strconv.ParseInt(meant, 10, 64); reason == "" || err != nil || LeadingZero(meant) || i < low || i > high {
		return fmt.Sprintf("%q is not a whole number", Shorten(text)), ""
	}
	return fmt.Sprintf("%q %s", Shorten(text), reason), "write " + meant + "; "
}

// asWritten returns a text as a show file has it: in quotes where YAML needs them.
func asWritten(text string) string {
	var n yaml.Node
	if literal.MatchString(text) {
		return strconv.Quote(text) // older YAML takes it for yes or no
	}
	if yaml.Unmarshal([]byte("{a: "+text+"}"), &n) == nil && len(n.Content) == 1 && len(n.Content[0].Content) == 2 {
		if v := n.Content[0].Content[1]; v.Kind == yaml.ScalarNode && v.Value == text && scalarOf(v) == textual {
			return text
		}
	}
	return strconv.Quote(text)
}

// splitByComma returns a number that a decimal comma has cut in two inside braces or
// brackets: of {tempo: 76,5 bpm} YAML makes the items 76 and "5 bpm". The two touch the
// comma on both sides.
func splitByComma(before, after *yaml.Node) (whole, write string, ok bool) {
	if before.Kind != yaml.ScalarNode || after.Kind != yaml.ScalarNode || before.Style&isQuoted != 0 || after.Style&isQuoted != 0 ||
		before.Line != after.Line || after.Column != before.Column+len(before.Value)+1 ||
		scalarOf(before) != integer || after.Value == "" || after.Value[0] < '0' || after.Value[0] > '9' {
		return "", "", false
	}
	return before.Value + "," + after.Value, before.Value + "." + after.Value, true
}
