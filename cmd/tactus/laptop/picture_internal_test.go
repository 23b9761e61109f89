package laptop

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
)

// Wakes lie in the step of the axis that they belong to, and none is lost.
func TestCounts(t *testing.T) {
	p := NewProbe()
	for _, late := range []clock.Time{0, clock.Microsecond, 1050 * clock.Microsecond, 2 * clock.Second} {
		p.FrameWoke(0, late)
	}
	n := p.histogram()
	assert.EqualValues(t, 2, n[0])
	assert.EqualValues(t, 1, n[3*decadeSteps])
	assert.EqualValues(t, 1, n[len(n)-1])
}
