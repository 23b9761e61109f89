package paper_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/paper"
)

// Handbook arithmetic (from memory): P = U·I. 2300 W at 230 V are 10 A, 2400 W
// at 120 V are 20 A; a breaker of 20 A carries 16 A for hours, one of 16 A 12.8.
func TestAmps(t *testing.T) {
	for _, c := range [][3]float64{{2300, 230, 10}, {2400, 120, 20}, {575, 230, 2.5}, {1000, 100, 10}, {0, 230, 0}} {
		assert.InDelta(t, c[2], paper.Amps(c[0], c[1]), 1e-9, "%v W at %v V", c[0], c[1])
	}
	for _, c := range []struct {
		breaker, volts, watts float64
		over                  bool
	}{{20, 120, 1920, false}, {20, 120, 1921, true}, {16, 230, 2944, false}, {16, 230, 2945, true}, {0, 230, 9999, false}} {
		s := (paper.Sum{Breaker: c.breaker, Full: c.watts})
		assert.Equal(t, c.over, s.Over(c.volts), "%v W on %v A at %v V: over is %v", c.watts, c.breaker, c.volts, !c.over)
	}
}

// powered gives the demo's rig watts and circuits.
func powered(rig string) string {
	rig = strings.Replace(rig, "universes:\n", "mains: {voltage: 230 V}\ncircuits:\n  truss: {breaker: 10 A}\n  hall: {breaker: 16 A}\nuniverses:\n", 1)
	rig = strings.ReplaceAll(rig, "    profile: dimmer-rgb\n", "    profile: dimmer-rgb\n    watts: 200 W\n    circuit: truss\n")
	rig = strings.ReplaceAll(rig, "{profile: dimmer, universe: stage", "{profile: dimmer, watts: 575 W, circuit: hall, universe: stage")
	return strings.ReplaceAll(rig, "{profile: hazer, ", "{profile: hazer, watts: 700 W, circuit: hall, ")
}

// By hand: eight washes of 200 W are 1600 W, 6.96 A of the 8 A that 10 A carry.
// "full sail" has the front truss at 80 % and the back truss at 100 % with
// effects that only scale: 4·160 + 4·200 = 1440 W. Two fronts of 575 W and a
// hazer that always heats are 1850 W at full.
func TestSums(t *testing.T) {
	s := show(t, powered)
	circuits, night := paper.Sums(s)
	require.Len(t, circuits, 3)
	truss, hall := circuits[0], circuits[1]
	assert.Equal(t, 8, truss.Fixtures)
	assert.Equal(t, 1600.0, truss.Full)
	assert.Equal(t, 3, hall.Fixtures)
	assert.Equal(t, 1850.0, hall.Full)
	assert.Equal(t, 3450.0, night.Full)
	assert.InDelta(t, 1440, truss.Worst, 1e-6, "the trusses draw %v W at %s", truss.Worst, truss.When)
	assert.GreaterOrEqual(t, hall.Worst, 700.0)
	assert.LessOrEqual(t, hall.Worst, hall.Full)
	assert.LessOrEqual(t, night.Worst, truss.Worst+hall.Worst+1e-6, "its circuits %v and %v", truss.Worst, hall.Worst)
	assert.GreaterOrEqual(t, night.Worst, truss.Worst, "its circuits %v and %v", truss.Worst, hall.Worst)
	assert.Equal(t, 5, circuits[2].Unknown, "fixtures without watts") // four warmers and the house lights
	var out strings.Builder
	require.NoError(t, paper.Text(&out, paper.PowerBook(s)))
	for _, want := range []string{"Power, at 230 V", "1600 W", "7.0 A", "8.0 A of 10 A", "CAUTION", "qualified people", "NEC 210.20(A)", "from memory", "worst moment"} {
		assert.Contains(t, out.String(), want)
	}
	assert.NotContains(t, out.String(), "TOO MUCH", "within limits, and yet")
	out.Reset()
	require.NoError(t, paper.Text(&out, paper.PowerBook(show(t, func(rig string) string { return strings.Replace(powered(rig), "breaker: 10 A", "breaker: 8 A", 1) }))))
	assert.Contains(t, out.String(), "TOO MUCH AT FULL", "no warning in") // 6.96 A of 6.4; as planned 6.26
	out.Reset()
	require.NoError(t, paper.Text(&out, paper.PowerBook(show(t, func(rig string) string { return strings.Replace(powered(rig), "breaker: 10 A", "breaker: 7 A", 1) }))))
	assert.Contains(t, out.String(), "TOO MUCH AS PLANNED") // 5.6 A
}

// Where every fixture has a circuit there is no row for those without one, and the
// whole night has its row all the same.
func TestPowerOfAll(t *testing.T) {
	s := show(t, powered)
	for i := range s.Power.Draws {
		s.Power.Draws[i].Circuit = max(0, s.Power.Draws[i].Circuit)
	}
	var names []string
	for _, r := range paper.PowerBook(s).Sheets[0].Tables[0].Rows {
		names = append(names, r.Cells[0])
	}
	assert.Equal(t, []string{"truss", "hall", "all"}, names)
}
