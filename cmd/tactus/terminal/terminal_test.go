package terminal_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/cmd/tactus/terminal"
)

// Nothing that a terminal obeys gets through: ESC, BEL, DEL, the C1 codes (CSI is U+009B),
// and what turns the direction of text.
func TestPrintable(t *testing.T) {
	for _, r := range "\x00\x07\x1b\r\t\x7f\u0080\u0085\u009b\u009f\u061c\u200e\u200f\u202a\u202e\u2066\u2069" {
		assert.Equal(t, "a b", terminal.Printable("a"+string(r)+"b"), "%U", r)
		assert.Equal(t, "a b", terminal.PrintableLines("a"+string(r)+"b"), "%U", r)
	}
	assert.Equal(t, "a b", terminal.Printable("a\nb"))
	assert.Equal(t, "a\nb", terminal.PrintableLines("a\nb"))
	assert.Equal(t, "Größe · 音 ♫", terminal.Printable("Größe · 音 ♫"))
}
