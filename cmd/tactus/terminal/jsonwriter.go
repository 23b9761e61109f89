package terminal

import (
	"bytes"
	"fmt"
	"io"
)

// JSONWriter writes lines of JSON in which the characters that a terminal would obey (see
// Printable) are escaped (RFC 8259, 7): readers of the JSON get the same text.
type JSONWriter struct{ To io.Writer }

// Write implements [io.Writer]. b is one or several whole lines of JSON.
func (w JSONWriter) Write(b []byte) (int, error) {
	escape := func(r rune) bool { return r != '\n' && obeyed(r) }
	out := b
	if bytes.ContainsFunc(b, escape) {
		out = nil
		for _, r := range string(b) {
			if escape(r) {
				out = fmt.Appendf(out, `\u%04x`, r) // all of them have 16 bits
			} else {
				out = append(out, string(r)...)
			}
		}
	}
	if _, err := w.To.Write(out); err != nil {
		return 0, err
	}
	return len(b), nil
}
