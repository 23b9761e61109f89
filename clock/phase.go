package clock

// Phase is a place in a cycle: one cycle is 2³², so it wraps by itself.
type Phase uint32

// Turn counts cycles in 32.32 fixed point: the high half is the number of
// whole cycles since beat 0 (negative before it), the low half the Phase.
type Turn int64

// OneTurn is a whole cycle.
const OneTurn Turn = 1 << 32

// TurnOf returns how many cycles of the given period have passed at b.
// period must be positive and at most 2³¹ Beats (319 quarter notes) for the
// result to be exact to one part in 2³²; longer periods lose low bits only.
func TurnOf(b, period Beat) Turn {
	whole := b.FloorTo(period)
	rest := uint64(b - whole)
	p := uint64(period)
	for p >= 1<<32 { // keep rest<<32 inside 64 bits
		p >>= 1
		rest >>= 1
	}
	return Turn(int64(whole/period)<<32) + Turn(rest<<32/p)
}

// Phase returns the place in the present cycle.
func (t Turn) Phase() Phase { return Phase(uint32(t)) }

// Cycle returns the number of the present cycle.
func (t Turn) Cycle() int32 { return int32(t >> 32) }

// Unit returns p in 0..1, 1 excluded.
func (p Phase) Unit() float64 { return float64(p) / (1 << 32) }

// PhaseOf returns the phase of a fraction of a cycle; whole cycles drop out.
func PhaseOf(cycles float64) Phase {
	return Phase(uint32(int64(cycles * (1 << 32))))
}
