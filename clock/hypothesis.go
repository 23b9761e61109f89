package clock

// A hypothesis is one reading of the ticks so far: where the last of them truly
// fell, how long a tick lasts, and how that changes, each known to within a
// spread that the covariances give; and how likely the reading is beside others.
type hypothesis struct {
	n      int64   // number of the last tick
	off    float64 // when it truly fell, ns from when it arrived
	period float64 // ns
	bend   float64 // by how much the period grows each tick, ns

	vOff, vPeriod, vBend float64 // variances, ns²
	cOffPeriod, cOffBend float64 // covariances
	cPeriodBend          float64
	weight               float64 // likelihood beside the best, which has 1
	kind                 gait
	held                 bool  // the last tick came out of a queue
	spare                bool  // the last tick was one too many
	age                  int32 // ticks since it left the reading before
}

// gait is how a hypothesis lets the tempo move.
type gait uint8

const (
	steadyGait gait = iota // it stands
	bentGait               // it drifts, by a rate that changes slowly
	sweptGait              // by a rate that changes fast
	rushedGait             // and faster
	looseGait              // it wanders
	numGaits
)

// by what each gait lets the period and its rate of change wander each tick, as
// parts of the period.
var gaits = [numGaits]struct{ period, bend float64 }{
	steadyGait: {2e-8, 0},
	bentGait:   {1e-6, 3e-6},
	sweptGait:  {1e-5, 2e-5},
	rushedGait: {3e-5, 1e-4},
	looseGait:  {4e-3, 0},
}

// step lets a tick pass; passed is how long ago the tick before arrived, ns.
func (h *hypothesis) step(passed float64) {
	h.off += h.period - passed
	h.period += h.bend
	g := gaits[h.kind]
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

// meet takes a measurement that says the tick fell at off, with variance v: what
// is known of the rest changes with it.
func (h *hypothesis) meet(off, v float64) {
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
