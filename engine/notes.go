package engine

// Notes is the map from MIDI to commands.
type Notes struct {
	Fire      uint8    // channel 1..16 whose notes enter sections now; 0: none
	Arm       [3]uint8 // by When: channel whose notes arm sections; 0: none
	Control   uint8    // channel of Controls and program changes; 0: any
	Tap       uint8    // note on Control that taps the beat; above 127: none
	Controls  [128]CommandKind
	ByProgram [128]int32 // song that a program change selects, or None
}

// NoNote is a note number that no message can have.
const NoNote = uint8(0xff)

// NewNotes returns a map in which nothing means anything.
func NewNotes() Notes {
	n := Notes{Tap: NoNote}
	for i := range n.ByProgram {
		n.ByProgram[i] = None
	}
	return n
}

// NoteOn returns what a note (channel 1..16, note 0..127) asks for.
func (n *Notes) NoteOn(channel, note uint8) (Command, bool) {
	if note > 127 {
		return Command{}, false
	}
	if n.Control == 0 || n.Control == channel {
		if kind := n.Controls[note]; kind != 0 {
			return Command{Kind: kind}, true
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
	return note == n.Tap && note <= 127 && (n.Control == 0 || n.Control == channel)
}

// ProgramChange returns what a program change (program 0..127) asks for.
func (n *Notes) ProgramChange(channel, program uint8) (Command, bool) {
	if program > 127 || n.Control != 0 && n.Control != channel || n.ByProgram[program] == None {
		return Command{}, false
	}
	return Command{Kind: SelectSong, Index: n.ByProgram[program]}, true
}
