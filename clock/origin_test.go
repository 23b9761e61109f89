package clock_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// computer is a clock that goes on when processes end.
func computer(boot string, at *clock.Time) clock.SystemClock {
	return clock.SystemClock{Boot: boot, Read: func() clock.Time { return *at }}
}

// Another process goes on with the times of the first, by the computer's steady clock,
// whatever the date and time of day.
func TestTimesGoOnAfterRestart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		up := 5000 * clock.Second
		first := clock.NewBase()
		time.Sleep(90 * time.Second)
		up += 90 * clock.Second
		c := computer("a", &up)
		origin, last := first.Origin(c), first.Now()
		require.Equal(t, clock.Origin{Boot: "a", Steady: true, System: 5000 * clock.Second, Wall: origin.Wall}, origin)
		time.Sleep(30 * time.Hour)
		up += 2 * clock.Second // the computer slept
		second, err := clock.ResumeBase(origin, last, c)
		require.NoError(t, err)
		assert.Equal(t, 92*clock.Second, second.Now())
		time.Sleep(time.Second)
		assert.Equal(t, 93*clock.Second, second.Now())
		assert.Equal(t, 2*time.Second, second.Until(95*clock.Second))
	})
}

// Without such a clock the date and time of day counts, with a bound.
func TestTimesGoOnByTheTimeOfDay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := clock.NewBase()
		time.Sleep(90 * time.Hour)
		origin, last := first.Origin(clock.SystemClock{}), first.Now()
		time.Sleep(3 * time.Second)
		second, err := clock.ResumeBase(origin, last, clock.SystemClock{})
		require.NoError(t, err)
		assert.Equal(t, first.Now(), second.Now())
		time.Sleep(25 * time.Hour)
		_, err = clock.ResumeBase(origin, last, clock.SystemClock{})
		require.ErrorIs(t, err, clock.ErrOrigin)
		assert.ErrorContains(t, err, "ended 25h0m3s ago, at most 24h0m0s")
	})
}

// What cannot be continued is said, with what is wrong.
func TestOriginsThatCannotGoOn(t *testing.T) {
	up := 100 * clock.Second
	base := clock.NewBase()
	c := computer("a", &up)
	origin := base.Origin(c)
	for name, row := range map[string]struct {
		origin clock.Origin
		last   clock.Time
		now    clock.SystemClock
		says   string
	}{
		"started again":       {origin, 0, computer("b", &up), `started again since (boot "a", now "b")`},
		"ahead":               {origin, clock.Second * 3600, c, "end 59m"},
		"no clock, ahead":     {clock.Origin{Wall: origin.Wall + 2*time.Hour}, 0, clock.SystemClock{}, "end 1h59m"},
		"another boot, by it": {clock.Origin{Boot: "a", Wall: origin.Wall}, 0, clock.SystemClock{Boot: "b"}, "started again"},
	} {
		_, err := clock.ResumeBase(row.origin, row.last, row.now)
		require.ErrorIs(t, err, clock.ErrOrigin, name)
		assert.ErrorContains(t, err, row.says, name)
	}
	later := base.Shifted(clock.Second * 100)
	assert.InDelta(t, float64(base.Now()+100*clock.Second), float64(later.Now()), 1e8, "shifted by 100 s")
	assert.WithinDuration(t, base.Wall(0), later.Wall(100*clock.Second), 0, "the same moment")
}
