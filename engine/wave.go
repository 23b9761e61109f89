package engine

import (
	"math"

	"tactus/clock"
)

// WaveKind is the shape of a wave.
type WaveKind uint8

// The shapes over one cycle, x running from 0 to 1. Each is 0..1.
const (
	Sine     WaveKind = iota // ½ + ½·sin 2πx: middle, high at ¼, low at ¾
	Triangle                 // 0, up to 1 at ½, back to 0
	Ramp                     // x: rises, drops at the end
	Fall                     // 1 − x: full on the beat, then falls
	Square                   // 1 while x < duty, then 0
	HalfSine                 // sin πx: a hump
	Gaussian                 // exp(−(x − ½)²/(2·0.15²)): a soft pulse at ½
	Decay                    // 100^−x: full on the beat, decays to 1 %
	Noise                    // random cells by a seed, others each cycle
	Steps                    // a list of levels of equal length
	NumWaves
)

var waveNames = [NumWaves]string{
	"sine", "triangle", "ramp", "fall", "square", "half-sine", "gaussian", "decay", "noise", "steps",
}

// String is the wave's name in show files.
func (k WaveKind) String() string { return nameOf(waveNames[:], int(k)) }

// WaveByName returns the shape with the name used in show files.
func WaveByName(name string) (WaveKind, bool) { return byName[WaveKind](waveNames[:], name) }

// WaveNames returns the names in order.
func WaveNames() []string { return waveNames[:] }

// MaxSteps is how many levels a Steps wave may have.
const MaxSteps = 64

// DefaultCells is how many cells a Noise wave has in a cycle by default.
const DefaultCells = 16

// Wave is a value over one cycle. It has no state, so that jumps and changes of tempo
// need no catching up.
type Wave struct {
	Kind      WaveKind
	Low, High float64 // what 0 and 1 of the shape become; 0 and 1 by default
	Duty      float64 // 0..1: part of a cycle that Square is high; share of cells that Noise lights
	// Skew is where in the cycle the middle of the shape falls, above 0 and below 1;
	// ½ is even. Square, Noise and Steps have none.
	Skew   float64
	Seed   uint64
	Cells  int32     // Noise: cells in a cycle, at least 1
	Levels []float64 // Steps: 1 to MaxSteps levels, 0..1
}

// At returns the wave's value at a turn, within Low..High.
func (w *Wave) At(t clock.Turn) float64 {
	v := w.shape(t)
	return w.Low + float64(v*(w.High-w.Low))
}

func (w *Wave) shape(t clock.Turn) float64 {
	x := t.Phase().Unit()
	switch w.Kind {
	case Noise:
		return w.noise(t.Cycle(), x)
	case Steps:
		return w.Levels[int(x*float64(len(w.Levels)))]
	case Square:
		if x < w.Duty {
			return 1
		}
		return 0
	}
	x = w.skewed(x)
	switch w.Kind {
	case Sine:
		return 0.5 + float64(0.5*math.Sin(2*math.Pi*x))
	case Triangle:
		return 1 - math.Abs(float64(2*x)-1)
	case Ramp:
		return x
	case Fall:
		return 1 - x
	case HalfSine:
		return math.Sin(math.Pi * x)
	case Gaussian:
		d := (x - 0.5) / 0.15
		return math.Exp(-0.5 * d * d)
	default: // Decay
		return math.Exp(-ln100 * x)
	}
}

const ln100 = 4.605170185988091 // natural logarithm of 100

// skewed bends the cycle so that its middle falls at Skew.
func (w *Wave) skewed(x float64) float64 {
	if w.Skew == 0.5 {
		return x
	}
	if x < w.Skew {
		return 0.5 * x / w.Skew
	}
	return 0.5 + 0.5*(x-w.Skew)/(1-w.Skew)
}

// noise hashes seed, cycle and cell to a level. The share Duty of all cells is lit: a
// low Duty looks like lightning, 1 is a flicker.
func (w *Wave) noise(cycle int32, x float64) float64 {
	cell := uint64(x * float64(w.Cells))
	h := mixBits(w.Seed ^ mixBits(uint64(uint32(cycle))<<32|cell))
	lit := float64(h>>32) / (1 << 32)
	if lit >= w.Duty {
		return 0
	}
	return float64(h&0xffffffff) / (1<<32 - 1)
}

// mixBits is the finaliser of SplitMix64 (Steele, Lea and Flood, "Fast splittable
// pseudorandom number generators", OOPSLA 2014; constants from memory).
func mixBits(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
