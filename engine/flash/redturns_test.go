package flash_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// hue is u'v' of a light with 0.4 % of white added, and R/(R+G+B) of it, by the
// conversions of package fixtures.
type hue struct{ u, v, ratio float64 }

func hueOf(l fixtures.RGB) hue {
	for i := range l {
		l[i] += 0.004
	}
	u, v := l.XYZ().XY().UV()
	return hue{u, 1.5 * v, l[0] / (l[0] + l[1] + l[2])}
}

func (h hue) away(o hue) float64 { return math.Hypot(h.u-o.u, h.v-o.v) }

// redChanges counts the changes to and from red by looking at all lights since the
// change before: to red from the least red of them, from red from the reddest.
func redChanges(lights []fixtures.RGB) (changes int) {
	const red, step = flash.RedRatio - 1e-9, flash.RedStep
	pure := hueOf(fixtures.RGB{1, 0, 0})
	pure.u, pure.v = 2.56/5.68, 2.97/5.68
	way, since := flash.Level, 0
	for j := range lights {
		h, turn := hueOf(lights[j]), hueOf(lights[since])
		for _, l := range lights[since:j] {
			o := hueOf(l)
			switch further := o.away(pure) - turn.away(pure); {
			case way == flash.Rise && further < 0, way == flash.Fall && further > 0,
				way == flash.Level && turn.ratio < flash.RedRatio && further > 0:
				turn = o
			}
		}
		if h.away(turn) <= step {
			continue
		}
		switch {
		case way != flash.Rise && h.ratio >= red:
			way = flash.Rise
		case way != flash.Fall && turn.ratio >= red:
			way = flash.Fall
		default:
			continue
		}
		changes, since = changes+1, j
	}
	return changes
}

// Lights that move between red, green and white in small steps and jumps.
func TestRedAgreesWithSlowCount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := tally{}
		var lights []fixtures.RGB
		ends := []fixtures.RGB{{1, 0, 0}, {0, 0.4, 0}, {0.3, 0.3, 0.3}, {0.8, 0.1, 0.1}, {0.3, 0.05, 0}}
		l := rapid.SampledFrom(ends).Draw(t, "first")
		for n := range rapid.IntRange(1, 60).Draw(t, "lights") {
			to, share := rapid.SampledFrom(ends).Draw(t, "to"), rapid.Float64Range(0, 1).Draw(t, "share")
			for i := range l {
				l[i] += share * (to[i] - l[i])
			}
			lights = append(lights, l)
			m.Observe(clock.Time(n)*100*clock.Millisecond, l)
			require.Equal(t, redChanges(lights), m.changes[flash.Red], "after %v", lights)
		}
	})
}

// A strict counter takes smaller steps of red and less saturated red, and moves a
// change for as long as a counter of slightly other light may not have it.
func TestStrictRed(t *testing.T) {
	const margin = 0.01 // steps above 0.16, certain above 0.24; ratios from 0.76, certain from 0.84
	white, green, blue := grey(0.4), fixtures.RGB{0, 0.5, 0}, fixtures.RGB{0, 0, 0.5}
	for _, c := range []struct {
		name     string
		from, to fixtures.RGB
		moves    bool
	}{
		{"step of 0.16 to 0.18", white, fixtures.RGB{1, 0.08, 0.08}, true},
		{"step of 0.18 to 0.24", white, fixtures.RGB{1, 0.05, 0.05}, true},
		{"ratio of 0.76 to 0.80", blue, fixtures.RGB{0.78, 0.11, 0.11}, true},
		{"ratio of 0.80 to 0.84", blue, fixtures.RGB{0.82, 0.09, 0.09}, true},
		{"ratio of 0.85 to 0.90", blue, fixtures.RGB{0.88, 0.06, 0.06}, false},
		{"both certain", green, fixtures.RGB{1, 0, 0}, false},
		{"out of red, certain", fixtures.RGB{1, 0, 0}, green, false},
	} {
		m := flash.Strict(margin)
		m.Observe(0, c.from)
		m.Observe(clock.Second, c.to)
		n, until := m.Changes(flash.Red, clock.Second)
		require.Equal(t, 1, n, "%s: %v away", c.name, hueOf(c.from).away(hueOf(c.to)))
		assert.Equal(t, clock.Second+flash.Window, until, c.name)
		c.to[2] += 1e-6
		later := clock.Second + clock.Second/2
		m.Observe(later, c.to)
		_, until = m.Changes(flash.Red, later)
		assert.Equal(t, c.moves, until == later+flash.Window, "%s: still going on", c.name)
	}
	near := hueOf(white).away(hueOf(fixtures.RGB{1, 0.08, 0.08}))
	assert.Greater(t, near, 0.16)
	assert.Less(t, near, 0.18)
	near = hueOf(white).away(hueOf(fixtures.RGB{1, 0.05, 0.05}))
	assert.Greater(t, near, 0.18)
	assert.Less(t, near, 0.24)
}
