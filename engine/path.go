package engine

import (
	"math"
	"sort"

	"tactus/clock"
)

// Point is a place in the hall in metres: X from house left (−) to house right (+), as
// the audience sees it; Y from the front of the stage (0) to the back (+); Z up from
// the stage floor.
type Point struct{ X, Y, Z float64 }

// Path is the order in which an effect visits heads.
type Path uint8

// The paths. Heads at the same place on a path move together.
const (
	AsListed Path = iota
	LeftRight
	RightLeft
	FrontBack
	BackFront
	CentreOut
	EndsIn
	Around // clockwise seen from above, starting at the front
	Alternate
	Scatter // shuffled by the effect's seed
	NumPaths
)

var pathNames = [NumPaths]string{
	"as-listed", "left-right", "right-left", "front-back", "back-front",
	"centre-out", "ends-in", "around", "alternate", "scatter",
}

// String is the path's name in show files.
func (p Path) String() string { return nameOf(pathNames[:], int(p)) }

// PathByName returns the path with the name used in show files.
func PathByName(name string) (Path, bool) { return byName[Path](pathNames[:], name) }

// PathNames returns the names in order.
func PathNames() []string { return pathNames[:] }

// Steps returns the step of each point on the path, counted from 0, and how
// many steps there are. Points within a centimetre share a step.
func (p Path) Steps(points []Point, seed uint64) (step []int, steps int) {
	key := make([]float64, len(points))
	centre := centreOf(points)
	for i, at := range points {
		key[i] = p.key(i, at, centre, seed)
	}
	step, steps = rankKeys(key)
	if p == Alternate {
		for i := range step {
			step[i] %= 2
		}
		steps = min(steps, 2)
	}
	return step, steps
}

// key returns the value that the path sorts a point by.
func (p Path) key(i int, at, centre Point, seed uint64) float64 {
	switch p {
	case LeftRight, Alternate:
		return at.X
	case RightLeft:
		return -at.X
	case FrontBack:
		return at.Y
	case BackFront:
		return -at.Y
	case CentreOut:
		return math.Abs(at.X - centre.X)
	case EndsIn:
		return -math.Abs(at.X - centre.X)
	case Around:
		// 0 towards the audience, growing to house left: clockwise from above.
		a := math.Atan2(centre.X-at.X, centre.Y-at.Y)
		if a < -1e-9 {
			a += 2 * math.Pi
		}
		return a
	case Scatter:
		return float64(mixBits(seed^mixBits(uint64(i)))>>12) * 0x1p20
	default:
		return float64(i)
	}
}

func centreOf(points []Point) Point {
	if len(points) == 0 {
		return Point{}
	}
	low, high := points[0], points[0]
	for _, p := range points {
		low.X, high.X = min(low.X, p.X), max(high.X, p.X)
		low.Y, high.Y = min(low.Y, p.Y), max(high.Y, p.Y)
	}
	return Point{X: (low.X + high.X) / 2, Y: (low.Y + high.Y) / 2}
}

// rankKeys numbers keys in ascending order. Keys within 0.01 (a centimetre, or a hundredth
// of a radian) get the same number.
func rankKeys(key []float64) (step []int, steps int) {
	order := make([]int, len(key))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return key[order[a]] < key[order[b]] })
	step = make([]int, len(key))
	for n, i := range order {
		if n > 0 && key[i]-key[order[n-1]] > 0.01 {
			steps++
		}
		step[i] = steps
	}
	if len(key) > 0 {
		steps++
	}
	return step, steps
}

// Even makes Offsets spread one cycle evenly: from the last step to the first of the
// next cycle is as far as between neighbours.
const Even = -1

// Offsets returns how far each point is behind the first if spread cycles, or Even,
// lie between the first and the last step of the path.
func (p Path) Offsets(points []Point, seed uint64, spread float64) []clock.Phase {
	step, steps := p.Steps(points, seed)
	gap := spread / float64(max(1, steps-1))
	if spread == Even {
		gap = 1 / float64(max(1, steps))
	}
	offsets := make([]clock.Phase, len(points))
	for i, s := range step {
		offsets[i] = clock.PhaseOf(float64(s) * gap)
	}
	return offsets
}
