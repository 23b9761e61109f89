package live

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"

	"tactus/engine"
	"tactus/protocol/udp"
)

// An output that fails is told once, with its reason, and once when it works again,
// however long that takes and whatever it says meanwhile.
func TestOutputLog(t *testing.T) {
	var out bytes.Buffer
	log, l := zerolog.New(&out), outputLog{}
	look := func(err error, faults ...*udp.LinkError) (lines []string) {
		out.Reset()
		l.update(&engine.Snapshot{Health: engine.Health{LastErr: err}}, faults, log)
		for line := range strings.Lines(out.String()) {
			lines = append(lines, line)
		}
		return lines
	}
	stage, hall := &udp.LinkError{Interface: "stage0", Reason: "has no carrier"}, &udp.LinkError{Interface: "hall0", Reason: "is down"}
	wrapped := fmt.Errorf("sacn: %w", stage)
	assert.Empty(t, look(nil))
	for n := range 40 {
		lines := look(wrapped, stage)
		assert.Len(t, lines, map[bool]int{true: 1}[n == 0], "look %d: %s", n, lines)
	}
	assert.Len(t, look(wrapped, stage, hall), 1, "a second interface")
	gone := &udp.LinkError{Interface: "stage0", Reason: "is not there"}
	assert.Empty(t, look(errors.New("no such device"), gone, hall), "the same fault by other words")
	assert.Len(t, look(fmt.Errorf("artnet: %w", hall), hall), 1, "one works again")
	lines := look(nil)
	if assert.Len(t, lines, 1) {
		assert.Contains(t, lines[0], `"interface":"hall0","message":"output works again"`)
	}
	// A failure of another kind, in every second look.
	told := 0
	for n := range 40 {
		told += len(look([]error{nil, errors.New("not permitted")}[n%2]))
	}
	assert.Equal(t, 1, told)
	for range quietLooks {
		told += len(look(nil))
	}
	assert.Equal(t, 2, told)
}
