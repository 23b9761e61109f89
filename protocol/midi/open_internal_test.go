package midi

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOpenChoosesPort(t *testing.T) {
	dir := t.TempDir()
	for spec, want := range map[string]string{
		"-": "*midi.RawPort", "/dev/snd/midiC1D0": "*midi.RawPort", dir + "/fifo": "*midi.RawPort",
		"Stage Keys": "*midi.DriverPort",
	} {
		p, err := Open(spec, Options{Child: []string{"x"}})
		assert.NoError(t, err, "%q", spec)
		assert.Equal(t, want, typeName(p), "%q", spec)
	}
	for _, spec := range []string{"", "  ", "file:" + dir + "/none.mid"} {
		p, err := Open(spec, Options{})
		assert.Error(t, err, "%q: have %v", spec, p)
	}
	if !haveDriver {
		_, err := Open("Stage Keys", Options{})
		assert.ErrorContains(t, err, "-tags rtmidi")
	}
}

func typeName(v any) string { return fmt.Sprintf("%T", v) }
