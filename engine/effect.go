package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// Blend is how an effect changes the look. With the look's value v, the wave's value w
// (0..1) and the depth d (0..1). The components of a deep colour may be above 1; then they
// take the place of 1 here:
type Blend uint8

// The blends.
const (
	Scale   Blend = iota // v·(1 − d·(1 − w)): the wave lowers the look
	Add                  // v + d·w, at most 1
	Replace              // v + d·(w − v)
	Highest              // the higher of v and d·w
	Swing                // v + d·(w − ½), within 0..1: to both sides of the look
	NumBlends
)

var blendNames = [NumBlends]string{"scale", "add", "replace", "highest", "swing"}

// String is the blend's name in show files.
func (b Blend) String() string { return nameOf(blendNames[:], int(b)) }

// BlendByName returns the blend with the name used in show files.
func BlendByName(name string) (Blend, bool) { return byName[Blend](blendNames[:], name) }

// BlendNames returns the names in order.
func BlendNames() []string { return blendNames[:] }

// Apply returns the value that a wave at w, with a depth, makes of v; all 0..1.
func (b Blend) Apply(v, w, depth float64) float64 {
	switch b {
	case Scale:
		return v * (1 - float64(depth*(1-w)))
	case Add:
		return min(max(1, v, w), v+float64(depth*w))
	case Replace:
		return v + float64(depth*(w-v))
	case Swing:
		return max(0, min(max(1, v, w), v+float64(depth*(w-0.5))))
	default:
		return max(v, depth*w)
	}
}

// Effect is a wave on a parameter of some heads, locked to the beat.
type Effect struct {
	Name    string
	Source  string // its place in the files, such as looks.yaml:97; "": not known
	Heads   []int32
	Path    Path          // the order in which the wave reaches the heads; Offsets come of it
	Spread  float64       // cycles from the first to the last of them, or Even
	Offsets []clock.Phase // by head: its delay behind the first head, in cycles
	Wave    Wave
	Period  Length
	Pulses  int32 // how often the wave repeats in a period, at least 1
	Depth   float64
	Blend   Blend
	// The wave moves one parameter, or the colour from From to To.
	Param       fixtures.Param
	MovesColour bool
	From, To    Colour
}

// apply moves the light of heads as the wave is at a beat, by a share of the effect's
// depth, 0..1.
func (e *Effect) apply(light []fixtures.State, at clock.Beat, m Meter, roles *roleColours, share float64) {
	depth := float64(e.Depth * share)
	period := max(1, e.Period.In(m)) // a frame cannot fail
	turn := clock.TurnOf(at, period)
	if e.MovesColour {
		e.applyColour(light, turn, roles, depth)
		return
	}
	turns := e.Param == fixtures.Pan || e.Param == fixtures.Tilt
	for i, h := range e.Heads {
		w := e.WaveAt(turn, e.Offsets[i])
		v := &light[h][e.Param]
		if turns { // -1..1; blends work on 0..1
			*v = float64(2*e.Blend.Apply((*v+1)/2, w, depth)) - 1
		} else {
			*v = e.Blend.Apply(*v, w, depth)
		}
	}
}

// WaveAt returns the wave's value, Wave.Low..Wave.High, for a head with a delay when so many
// periods have passed.
func (e *Effect) WaveAt(periods clock.Turn, delay clock.Phase) float64 {
	return e.Wave.At(periods*clock.Turn(e.Pulses) - clock.Turn(delay))
}

// Values returns the wave's values for a head without a delay, over the period of a number
// from 0: n of them, at least 2, at even distances. The last is just before the end.
func (e *Effect) Values(period int32, n int) []float64 {
	values := make([]float64, n)
	start := clock.Turn(period) * clock.OneTurn
	for i := range values {
		turn := start + clock.OneTurn*clock.Turn(i)/clock.Turn(n-1)
		values[i] = e.WaveAt(min(turn, start+clock.OneTurn-1), 0)
	}
	return values
}

// givenColour is the colour that an effect gave a head in this frame. Heads with the same
// delay, and the same colour before if the two are mixed, get the same.
type givenColour struct {
	way            int32 // number of the way between the effect's colours, from 1; 0: none
	offset         clock.Phase
	before, colour fixtures.RGB
}

// givenColours are the latest givenColour of each hash of the delay.
type givenColours [256]givenColour

// at returns the place for heads with a delay. The factor, 2^32 divided by the golden
// ratio, spreads delays in equal steps evenly (Knuth, "Sorting and Searching", 6.4).
func (g *givenColours) at(offset clock.Phase) *givenColour { return &g[offset*0x9e3779b9>>24] }

// applyColour moves the colours of heads as the wave is after so many periods, by a depth, 0..1.
func (e *Effect) applyColour(light []fixtures.State, turn clock.Turn, roles *roleColours, depth float64) {
	var way, blend fixtures.Arc // blend: from the head's colour to the effect's
	ways, mixes := int32(0), e.Blend == Replace && depth < 1
	var given givenColours
	for i, h := range e.Heads {
		if i == 0 || roles.differ(h, e.Heads[i-1]) {
			way.Set(roles.of(e.From, h), roles.of(e.To, h))
			ways++
		}
		s, before := &light[h], fixtures.RGB{}
		if mixes {
			before = s.Colour()
		}
		g := given.at(e.Offsets[i])
		if g.way != ways || g.offset != e.Offsets[i] || g.before != before {
			c := way.ColourAt(e.WaveAt(turn, e.Offsets[i]))
			if mixes {
				blend.Set(before, c)
				c = blend.ColourAt(depth)
			}
			*g = givenColour{ways, e.Offsets[i], before, c}
		}
		if e.Blend == Replace {
			s.SetColour(g.colour)
			continue
		}
		for n, q := range [...]fixtures.Param{fixtures.Red, fixtures.Green, fixtures.Blue} {
			s[q] = e.Blend.Apply(s[q], g.colour[n], depth)
		}
	}
}
