package engine

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// Five heads in a row at the back, one in front at the centre.
var row = []Point{{X: -4, Y: 3}, {X: -2, Y: 3}, {X: 0, Y: 3}, {X: 2, Y: 3}, {X: 4, Y: 3}, {X: 0, Y: 0}}

func TestPathSteps(t *testing.T) {
	cases := []struct {
		path  Path
		want  []int
		steps int
	}{
		{AsListed, []int{0, 1, 2, 3, 4, 5}, 6},
		{LeftRight, []int{0, 1, 2, 3, 4, 2}, 5},
		{RightLeft, []int{4, 3, 2, 1, 0, 2}, 5},
		{FrontBack, []int{1, 1, 1, 1, 1, 0}, 2},
		{BackFront, []int{0, 0, 0, 0, 0, 1}, 2},
		{CentreOut, []int{2, 1, 0, 1, 2, 0}, 3},
		{EndsIn, []int{0, 1, 2, 1, 0, 2}, 3},
		{Alternate, []int{0, 1, 0, 1, 0, 0}, 2},
	}
	for _, c := range cases {
		got, steps := c.path.Steps(row, 1)
		if !reflect.DeepEqual(got, c.want) || steps != c.steps {
			t.Errorf("%s: %v in %d steps, want %v in %d", c.path, got, steps, c.want, c.steps)
		}
	}
}

func TestAroundIsClockwiseFromTheFront(t *testing.T) {
	// Front, house left, back, house right: clockwise seen from above with the
	// audience at the bottom.
	ring := []Point{{X: 0, Y: -1}, {X: -1, Y: 0}, {X: 0, Y: 1}, {X: 1, Y: 0}}
	if got, _ := Around.Steps(ring, 0); !reflect.DeepEqual(got, []int{0, 1, 2, 3}) {
		t.Errorf("around: %v, want 0 1 2 3", got)
	}
}

func TestScatterVisitsEveryHeadOnceAndDependsOnTheSeed(t *testing.T) {
	points := make([]Point, 40)
	one, steps := Scatter.Steps(points, 1)
	seen := map[int]bool{}
	for _, s := range one {
		seen[s] = true
	}
	if steps != 40 || len(seen) != 40 {
		t.Errorf("scatter has %d steps and visits %d", steps, len(seen))
	}
	again, _ := Scatter.Steps(points, 1)
	other, _ := Scatter.Steps(points, 2)
	if !reflect.DeepEqual(one, again) || reflect.DeepEqual(one, other) {
		t.Error("scatter must depend on its seed and on nothing else")
	}
}

func TestOffsets(t *testing.T) {
	line := row[:5]
	cases := []struct {
		name   string
		spread float64
		want   []float64
	}{
		{"half a cycle between first and last", 0.5, []float64{0, 0.125, 0.25, 0.375, 0.5}},
		{"even: a fifth each", Even, []float64{0, 0.2, 0.4, 0.6, 0.8}},
		{"none", 0, []float64{0, 0, 0, 0, 0}},
	}
	for _, c := range cases {
		for i, o := range LeftRight.Offsets(line, 0, c.spread) {
			if math.Abs(o.Unit()-c.want[i]) > 1e-9 {
				t.Errorf("%s: head %d is %v behind, want %v", c.name, i, o.Unit(), c.want[i])
			}
		}
	}
}

// Whatever the points, steps are numbered from 0 without gaps, and no point
// and one point are fine.
func TestStepsHaveNoGaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		path := Path(rapid.IntRange(0, int(NumPaths)-1).Draw(t, "path"))
		points := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Point {
			return Point{X: rapid.Float64Range(-50, 50).Draw(t, "x"), Y: rapid.Float64Range(-50, 50).Draw(t, "y")}
		}), 0, 20).Draw(t, "points")
		step, steps := path.Steps(points, 3)
		used := make([]bool, steps)
		for _, s := range step {
			used[s] = true
		}
		for i, u := range used {
			if !u {
				t.Fatalf("%s: no head at step %d of %d", path, i, steps)
			}
		}
	})
}
