package notemap

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Names with middle C as C4: 60 is C4, 69 the A of 440 Hz (from memory).
func TestNoteName(t *testing.T) {
	for n, want := range map[uint8]string{60: "C4", 69: "A4", 36: "C2", 0: "C-1", 127: "G9", 61: "C#4"} {
		assert.Equal(t, want, noteName(n), "note %d", n)
	}
}
