package flash_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine/flash"
)

// A strict counter moves its last change for as long as a counter of slightly other
// light may not have it: with a margin of 1 %, until the step is 12 % and the darker
// state of a fall below 79 %.
func TestStrictLuminanceMovesUncertainChanges(t *testing.T) {
	for _, c := range []struct {
		name           string
		from, to, then float64
		moves          bool
	}{
		{"rise of 8.5 %", 0, 0.085, 0.09, true},
		{"rise of 11 %", 0, 0.11, 0.111, true},
		{"rise of 12.5 %", 0, 0.125, 0.13, false},
		{"rise of 11 % that turns", 0, 0.11, 0.085, false},
		{"fall of 11 %", 0.5, 0.39, 0.40, true},
		{"fall of 11 % that goes on", 0.5, 0.39, 0.385, true},
		{"fall of 11 % that turns", 0.5, 0.39, 0.42, false},
		{"fall of 12.5 %", 0.5, 0.375, 0.37, false},
		{"fall to 79.5 %", 0.95, 0.795, 0.796, true},
		{"fall to 78 %", 0.95, 0.78, 0.779, false},
	} {
		m := flash.Strict(0.01)
		m.Observe(0, grey(c.from))
		m.Observe(clock.Second, grey(c.to))
		n, _ := m.Changes(flash.General, clock.Second)
		require.Equal(t, 1, n, c.name)
		later := clock.Second + clock.Second/2
		m.Observe(later, grey(c.then))
		_, until := m.Changes(flash.General, later)
		assert.Equal(t, c.moves, until == later+flash.Window, c.name)
	}
}

// It is the last change that moves, and those before it stay.
func TestOnlyTheLastChangeMoves(t *testing.T) {
	const ms = clock.Millisecond
	m := flash.Strict(0.01)
	for _, o := range []struct {
		at clock.Time
		y  float64
	}{{0, 0}, {10 * ms, 1}, {200 * ms, 0}, {300 * ms, 0.09}, {500 * ms, 0.095}} {
		m.Observe(o.at, grey(o.y))
	}
	for at, want := range map[clock.Time]int{500 * ms: 3, 1100 * ms: 2, 1200 * ms: 1, 1490 * ms: 1, 1500 * ms: 0} {
		c := m
		n, _ := c.Changes(flash.General, at)
		assert.Equal(t, want, n, "changes in the second up to %d ms", at/ms)
	}
	assert.Equal(t, flash.Rate{1.5, 0}, m.Rate(500*ms))
}

func TestMostOfARate(t *testing.T) {
	assert.Equal(t, 3.5, flash.Rate{flash.General: 3.5, flash.Red: 1}.Most())
	assert.Equal(t, 2.0, flash.Rate{flash.General: 0.5, flash.Red: 2}.Most())
	assert.Equal(t, []string{"general", "red", "unknown"}, []string{flash.General.String(), flash.Red.String(), flash.Kind(7).String()})
}
