package engine_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"tactus/engine"
)

// Five heads in a row at the back, one in front at the centre.
var row = []engine.Point{{X: -4, Y: 3}, {X: -2, Y: 3}, {X: 0, Y: 3}, {X: 2, Y: 3}, {X: 4, Y: 3}, {X: 0, Y: 0}}

func TestPathSteps(t *testing.T) {
	cases := []struct {
		path  engine.Path
		want  []int
		steps int
	}{
		{engine.AsListed, []int{0, 1, 2, 3, 4, 5}, 6},
		{engine.LeftRight, []int{0, 1, 2, 3, 4, 2}, 5},
		{engine.RightLeft, []int{4, 3, 2, 1, 0, 2}, 5},
		{engine.FrontBack, []int{1, 1, 1, 1, 1, 0}, 2},
		{engine.BackFront, []int{0, 0, 0, 0, 0, 1}, 2},
		{engine.CentreOut, []int{2, 1, 0, 1, 2, 0}, 3},
		{engine.EndsIn, []int{0, 1, 2, 1, 0, 2}, 3},
		{engine.Alternate, []int{0, 1, 0, 1, 0, 0}, 2},
	}
	for _, c := range cases {
		got, steps := c.path.Steps(row, 1)
		assert.Equal(t, c.want, got, c.path)
		assert.Equal(t, c.steps, steps, c.path)
	}
}

func TestAroundIsClockwiseFromTheFront(t *testing.T) {
	// Front, house left, back, house right: clockwise seen from above with the
	// audience at the bottom.
	ring := []engine.Point{{X: 0, Y: -1}, {X: -1, Y: 0}, {X: 0, Y: 1}, {X: 1, Y: 0}}
	got, _ := engine.Around.Steps(ring, 0)
	assert.Equal(t, []int{0, 1, 2, 3}, got, "around")
}

func TestScatterVisitsEveryHeadOnceAndDependsOnTheSeed(t *testing.T) {
	points := make([]engine.Point, 40)
	one, steps := engine.Scatter.Steps(points, 1)
	seen := map[int]bool{}
	for _, s := range one {
		seen[s] = true
	}
	assert.Equal(t, 40, steps)
	assert.Len(t, seen, 40)
	again, _ := engine.Scatter.Steps(points, 1)
	other, _ := engine.Scatter.Steps(points, 2)
	assert.Equal(t, again, one, "scatter must depend on its seed and on nothing else")
	assert.NotEqual(t, other, one, "scatter must depend on its seed and on nothing else")
}

func TestOffsets(t *testing.T) {
	line := row[:5]
	cases := []struct {
		name   string
		spread float64
		want   []float64
	}{
		{"half a cycle between first and last", 0.5, []float64{0, 0.125, 0.25, 0.375, 0.5}},
		{"even: a fifth each", engine.Even, []float64{0, 0.2, 0.4, 0.6, 0.8}},
		{"none", 0, []float64{0, 0, 0, 0, 0}},
	}
	for _, c := range cases {
		for i, o := range engine.LeftRight.Offsets(line, 0, c.spread) {
			assert.InDelta(t, c.want[i], o.Unit(), 1e-9, "%s: head %d is %v behind", c.name, i, o.Unit())
		}
	}
}

// Whatever the points, steps are numbered from 0 without gaps, and no point
// and one point are fine.
func TestStepsHaveNoGaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		path := engine.Path(rapid.IntRange(0, int(engine.NumPaths)-1).Draw(t, "path"))
		points := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) engine.Point {
			return engine.Point{X: rapid.Float64Range(-50, 50).Draw(t, "x"), Y: rapid.Float64Range(-50, 50).Draw(t, "y")}
		}), 0, 20).Draw(t, "points")
		step, steps := path.Steps(points, 3)
		used := make([]bool, steps)
		for _, s := range step {
			used[s] = true
		}
		for i, u := range used {
			require.True(t, u, "%s: no head at step %d of %d", path, i, steps)
		}
	})
}
