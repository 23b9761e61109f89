package realtime

import (
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// Times go on over the end of a process: an origin that another process would read gives
// the same time to within a millisecond, and as /proc/uptime runs, which counts sleep too.
func TestTimesGoOnInAnotherBase(t *testing.T) {
	c := SystemClock()
	require.NotNil(t, c.Read)
	require.Regexp(t, `^[0-9a-f-]{36}$`, c.Boot)
	first := clock.NewBase()
	origin := first.Origin(c)
	second, err := clock.ResumeBase(origin, first.Now(), c)
	require.NoError(t, err)
	for range 100 {
		a, b, after := first.Now(), second.Now(), first.Now()
		assert.GreaterOrEqual(t, b, a-clock.Millisecond)
		assert.LessOrEqual(t, b, after+clock.Millisecond)
	}
	out, err := exec.Command("cat", "/proc/uptime").Output()
	require.NoError(t, err)
	up, err := strconv.ParseFloat(strings.Fields(string(out))[0], 64)
	require.NoError(t, err)
	assert.LessOrEqual(t, float64(c.Read())/1e9, up+1, "CLOCK_MONOTONIC in s, at most the time since the start")
}
