package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// Takes is how a fader's level and that of the show are combined.
type Takes uint8

// The ways to combine them. Each acts on intensity only.
const (
	TakesHighest Takes = iota // the higher of the two
	TakesLast                 // the fader's once it has moved, until a cue begins that names its heads
	TakesScale                // their product: the fader is a master
	numTakes
)

// String names the way as show files and screens do.
func (t Takes) String() string { return nameOf([]string{"highest", "last", "scale"}, int(t)) }

// Fader is a slot of a level input that sets the intensity of some heads.
type Fader struct {
	Input int32  // index into Program.LevelInputs
	Slot  int    // 1..512
	Name  string // of the group or fixture that it sets
	Heads []int32
	Takes Takes
}

const (
	// faderMoves is by how many of 255 steps a fader has to move to take over: desks
	// with sliders waver by one (common practice, no source).
	faderMoves = 3
	// faderTakesOver is how long the light takes to get to a fader that takes over.
	faderTakesOver = clock.Second / 4
)

// faderState is the state of a fader whose level is that of its input's slot.
type faderState struct {
	taken  slide // how far it has taken over from the show, 0..1; only of TakesLast
	parked byte  // its level when it came, or when the show took over
	known  bool  // parked is set
}

// moveTo notes the fader's level. comes means that its source has just come: where its
// faders stand is no move.
func (s *faderState) moveTo(f *Fader, level byte, comes bool, now clock.Time) {
	switch {
	case comes || !s.known:
		s.parked, s.known = level, true
	case f.Takes == TakesLast && s.taken.goal == 0 && max(level, s.parked)-min(level, s.parked) >= faderMoves:
		s.taken.moveTo(1, faderTakesOver, now)
	}
}

// returnFaders gives the light of faders that have taken over back to the show when a cue
// begins. A fader whose heads are all kept, and not named by the cue, keeps it.
func (e *Engine) returnFaders(now clock.Time) {
	for i := range e.prog.Faders {
		f, s := &e.prog.Faders[i], &e.faders[i]
		if s.taken.goal == 0 || !e.movesAny(f.Heads) {
			continue
		}
		s.taken.moveTo(0, e.prog.Ease, now)
		s.parked = e.levelInputs[f.Input].levels[f.Slot-1]
	}
}

// movesAny reports whether the present cue sets the intensity of any of some heads.
// Heads that are not kept are dark when a cue does not name them.
func (e *Engine) movesAny(heads []int32) bool {
	for _, h := range heads {
		if !e.prog.Heads[h].Keep || e.cue != nil && e.cue.namedParams(h)&(1<<fixtures.Intensity) != 0 {
			return true
		}
	}
	return false
}

// faderAt returns a fader's level and how far it acts, both 0..1, at a moment.
func (e *Engine) faderAt(i int, now clock.Time) (level, amount float64) {
	f := &e.prog.Faders[i]
	in := &e.levelInputs[f.Input]
	amount = in.amount.levelAt(now)
	if f.Takes == TakesLast {
		amount *= e.faders[i].taken.levelAt(now)
	}
	return float64(in.levels[f.Slot-1]) / 255, amount
}

// renderFaders combines the faders with the light of the layers below.
func (e *Engine) renderFaders(now clock.Time) {
	for i := range e.prog.Faders {
		level, amount := e.faderAt(i, now)
		if amount == 0 {
			continue
		}
		f := &e.prog.Faders[i]
		for _, h := range f.Heads {
			v := &e.sentLight[h][fixtures.Intensity]
			to := level
			switch f.Takes {
			case TakesHighest:
				to = max(*v, level)
			case TakesScale:
				to = *v * level
			}
			if to != *v {
				*v = float64(*v*(1-amount)) + float64(to*amount)
			}
		}
	}
}

// carryFaders takes over what comes in: the inputs are the same, and faders are found
// again by input, slot and what they set.
func (r *Reload) carryFaders(from *memory) {
	m := &r.memory
	copy(m.levelInputs, from.levelInputs)
	for i := range r.prog.Faders {
		to := &r.prog.Faders[i]
		for j := range r.old.Faders {
			if f := &r.old.Faders[j]; f.Input == to.Input && f.Slot == to.Slot && f.Name == to.Name {
				m.faders[i] = from.faders[j]
			}
		}
	}
}
