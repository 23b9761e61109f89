package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// MaxLevelInputs is how many universes can be taken in.
const MaxLevelInputs = 8

// LevelInput is a universe that comes in, such as the faders of a house desk.
type LevelInput struct {
	Name string
	Wire string // what it is on the wire: "sACN 11"
	Hold bool   // when its source is gone, its last levels act on; else they are released over Program.Ease
}

// InputLevels is what came of a level input at a moment.
type InputLevels struct {
	Input   int32
	Present bool  // a source sends levels; false: it is gone
	Changed Slots // the slots whose levels are set
	Levels  [dmx.Slots]byte
}

// Slots is a set of slots, from 1 to 512.
type Slots [dmx.Slots / 64]uint64

// Add adds a slot.
func (s *Slots) Add(slot int) { s[(slot-1)/64] |= 1 << ((slot - 1) % 64) }

// Has reports whether a slot is in the set.
func (s *Slots) Has(slot int) bool { return s[(slot-1)/64]&(1<<((slot-1)%64)) != 0 }

// AllSlots returns the set of all 512.
func AllSlots() (s Slots) {
	for i := range s {
		s[i] = ^uint64(0)
	}
	return s
}

// levelInput is the state of a level input.
type levelInput struct {
	heard   bool  // levels have come
	present bool  // its source is there
	amount  slide // how far its faders act, 0..1
	levels  [dmx.Slots]byte
}

// InputState is the state of a level input for screens.
type InputState struct {
	Heard, Present bool
	Amount         float64 // how far its faders act, 0..1
}

// TakeLevels takes levels of an input at a position. It leaves in l.Changed the slots
// that faders use and whose level is new, and returns false if there is nothing new.
func (e *Engine) TakeLevels(l *InputLevels, pos clock.Position) (changed bool) {
	if l.Input < 0 || int(l.Input) >= len(e.levelInputs) {
		e.unknownCommands++
		return false
	}
	in := &e.levelInputs[l.Input]
	comes := l.Present && !in.present
	if l.Present != in.present {
		changed = true
		in.present = l.Present
		e.inputComesOrGoes(l.Input, pos.At)
	}
	if !l.Present {
		l.Changed = Slots{}
		return changed
	}
	var fresh Slots
	for i := range e.prog.Faders {
		f := &e.prog.Faders[i]
		if f.Input != l.Input || !l.Changed.Has(f.Slot) {
			continue
		}
		if level := l.Levels[f.Slot-1]; level != in.levels[f.Slot-1] || comes || !e.faders[i].known {
			fresh.Add(f.Slot)
			e.faders[i].moveTo(f, level, comes, pos.At)
		}
	}
	for i := range e.prog.Faders { // faders may share a slot
		if f := &e.prog.Faders[i]; f.Input == l.Input && fresh.Has(f.Slot) {
			in.levels[f.Slot-1] = l.Levels[f.Slot-1]
		}
	}
	in.heard = true
	l.Changed = fresh
	return changed || fresh != Slots{}
}

// inputComesOrGoes fades an input's levels in, or out if they are not held.
func (e *Engine) inputComesOrGoes(input int32, now clock.Time) {
	in := &e.levelInputs[input]
	switch {
	case in.present:
		in.amount.moveTo(1, e.prog.Ease, now)
	case !e.prog.LevelInputs[input].Hold:
		in.amount.moveTo(0, e.prog.Ease, now)
		for i := range e.prog.Faders {
			if e.prog.Faders[i].Input == input {
				e.faders[i].taken.moveTo(0, e.prog.Ease, now)
			}
		}
	}
}

// inputState returns the state of an input at a moment.
func (in *levelInput) inputState(now clock.Time) InputState {
	return InputState{Heard: in.heard, Present: in.present, Amount: in.amount.levelAt(now)}
}
