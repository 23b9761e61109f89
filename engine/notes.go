package engine

import "tactus/clock"

// Notes maps MIDI messages to commands.
type Notes struct {
	Fire      uint8    // channel 1..16 whose notes enter sections now; 0: none
	Arm       [4]uint8 // channel whose notes arm sections, by When; 0: none
	Control   uint8    // channel of Controls and program changes; 0: any
	Tap       uint8    // note on Control that taps the beat; above 127: none
	Halve     uint8    // note on Control that halves a tapped tempo
	Double    uint8    // note on Control that doubles it
	Controls  [128]CommandKind
	ByProgram [128]int32 // song that a program change selects, or None
	Faders    [128]int32 // master by controller on Control: AllFader, a group or None
}

// AllFader stands for the grand master in Notes.Faders.
const AllFader int32 = -2

// faderStep is how long a master takes to follow a fader, so that the 128 steps of a
// controller are not seen.
const faderStep = 50 * clock.Millisecond

// NoNote is a note number that no message has.
const NoNote = uint8(0xff)

// NewNotes returns an empty map.
func NewNotes() Notes {
	n := Notes{Tap: NoNote, Halve: NoNote, Double: NoNote}
	for i := range n.ByProgram {
		n.ByProgram[i] = None
		n.Faders[i] = None
	}
	return n
}

// NoteOn returns the command of a note (channel 1..16, note 0..127).
func (n *Notes) NoteOn(channel, note uint8) (Command, bool) {
	if note > 127 {
		return Command{}, false
	}
	if n.Control == 0 || n.Control == channel {
		if kind := n.Controls[note]; kind != 0 {
			return control(kind), true
		}
	}
	if channel == n.Fire {
		return Command{Kind: FireNote, Index: int32(note)}, true
	}
	for when, c := range n.Arm {
		if c != 0 && channel == c {
			return Command{Kind: ArmNote, When: When(when), Index: int32(note)}, true
		}
	}
	return Command{}, false
}

// IsTap reports whether a note is the tap.
func (n *Notes) IsTap(channel, note uint8) bool {
	kind, ok := n.Clock(channel, note)
	return ok && kind == clock.Tap
}

// Clock returns the clock event of a note: a tap, half or twice its tempo.
func (n *Notes) Clock(channel, note uint8) (clock.Kind, bool) {
	if note > 127 || n.Control != 0 && n.Control != channel {
		return 0, false
	}
	switch note {
	case n.Tap:
		return clock.Tap, true
	case n.Halve:
		return clock.Halve, true
	case n.Double:
		return clock.Double, true
	}
	return 0, false
}

// ProgramChange returns the command of a program change (program 0..127).
func (n *Notes) ProgramChange(channel, program uint8) (Command, bool) {
	if program > 127 || n.Control != 0 && n.Control != channel || n.ByProgram[program] == None {
		return Command{}, false
	}
	return Command{Kind: SelectByProgram, Index: n.ByProgram[program]}, true
}

// ControlChange returns the command of a control change (channel 1..16, controller
// 0..127, value 0..127): a master at value / 127.
func (n *Notes) ControlChange(channel, controller, value uint8) (Command, bool) {
	if controller > 127 || value > 127 || n.Control != 0 && n.Control != channel {
		return Command{}, false
	}
	c := Command{Kind: GroupMaster, Index: n.Faders[controller], Level: float64(value) / 127, Over: faderStep}
	switch c.Index {
	case None:
		return Command{}, false
	case AllFader:
		c.Kind, c.Index = GrandMaster, 0
	}
	return c, true
}

// control returns the command of a kind that has a note.
func control(kind CommandKind) Command {
	c := Command{Kind: kind}
	switch kind {
	case NextSection, PreviousSection:
		c.When = NextBar
	case ReleaseOverride:
		c.Index = None
	}
	return c
}
