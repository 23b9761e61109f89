package clock

// A hypothesis is one explanation of the ticks so far: when the last of them truly
// fell, the period and its rate of change, with their covariances, and how likely it
// is relative to others.
type hypothesis struct {
	n      int64   // number of the last tick
	off    float64 // its true time, ns from when it arrived; negative: it arrived late
	period float64 // ns
	bend   float64 // by how much the period grows each tick, ns

	vOff, vPeriod, vBend float64 // variances, ns²
	cOffPeriod, cOffBend float64 // covariances
	cPeriodBend          float64
	weight               float64 // likelihood relative to the best, which has 1
	kind                 tempoModel
	fromQueue            bool  // the last tick came out of a queue, and is not used
	double               bool  // the last tick is assumed to be a double of the one before
	age                  int32 // ticks since it was spawned
}

// tempoModel is how a hypothesis lets the tempo change.
type tempoModel uint8

const (
	steadyTempo    tempoModel = iota // the tempo is constant
	driftingTempo                    // the tempo drifts, and the rate of drift changes slowly
	fastDrift                        // the rate of drift changes fast
	fastestDrift                     // the rate of drift changes very fast
	wanderingTempo                   // the tempo is a random walk
	numTempoModels
)

// tempoModels holds the standard deviations by which the period and its rate of change
// may move each tick, as parts of the period.
var tempoModels = [numTempoModels]struct{ period, bend float64 }{
	steadyTempo:    {2e-8, 0},
	driftingTempo:  {1e-6, 3e-6},
	fastDrift:      {1e-5, 2e-5},
	fastestDrift:   {3e-5, 1e-4},
	wanderingTempo: {4e-3, 0},
}

// step predicts the next tick; passed is how long ago the tick before arrived, ns.
func (h *hypothesis) step(passed float64) {
	h.off += h.period - passed
	h.period += h.bend
	g := tempoModels[h.kind]
	// x' = x + p; p' = p + b
	h.vOff += 2*h.cOffPeriod + h.vPeriod
	h.cOffPeriod += h.vPeriod + h.cOffBend + h.cPeriodBend
	h.cOffBend += h.cPeriodBend
	h.vPeriod += 2*h.cPeriodBend + h.vBend + float64(g.period*h.period*g.period*h.period)
	h.cPeriodBend += h.vBend
	h.vBend += float64(g.bend * h.period * g.bend * h.period)
	h.vOff, h.vPeriod, h.vBend = max(h.vOff, 1), max(h.vPeriod, 0), max(h.vBend, 0)
	h.n++
	h.age++
}

// observe sets the last tick's time to off (ns from its arrival), with variance v (ns²), and
// updates the period and its rate of change by their covariances with it (Kalman update).
func (h *hypothesis) observe(off, v float64) {
	move, shrink := off-h.off, v-h.vOff
	gp, gb := h.cOffPeriod/h.vOff, h.cOffBend/h.vOff
	h.off = off
	h.period += float64(gp * move)
	h.bend += float64(gb * move)
	h.vPeriod += float64(gp * gp * shrink)
	h.vBend += float64(gb * gb * shrink)
	h.cPeriodBend += float64(gp * gb * shrink)
	h.cOffPeriod += float64(gp * shrink)
	h.cOffBend += float64(gb * shrink)
	h.vOff = v
}
