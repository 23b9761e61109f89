package engine

import "tactus/clock"

// CommandKind says what a Command asks for.
type CommandKind uint8

// The kinds of command. Each says what it wants, never "toggle", so that a
// command that comes twice does no harm.
const (
	SelectSong  CommandKind = iota + 1 // Index: song
	NextSong                           // the one after the present in the set list
	FireSection                        // Index: section of the song; enter it now
	ArmSection                         // Index: section; enter it When
	FireNote                           // Index: MIDI note that names a section of the song
	ArmNote                            // likewise, When
	Disarm                             // forget what is armed
	ShowLook                           // Index: look; leaves the song
	ShowWalkIn                         // the set's walk-in look
	ShowWalkOut                        // the set's walk-out look
	Hold                               // stay on the present light
	Release                            // move on from it
	Blackout                           // stage dark; house light and haze stay
	Restore                            // and back
	GrandMaster                        // Level, Over
)

// When says at which boundary an armed section is entered.
type When uint8

// The boundaries, counted from where the present section was entered.
const (
	NextBeat When = iota
	NextBar
	SectionEnd
)

// String names the boundary as show files and screens do.
func (w When) String() string { return nameOf([]string{"beat", "bar", "section end"}, int(w)) }

// Command is a wish of a person or a DAW. It is a value, applied at a frame.
type Command struct {
	Kind  CommandKind
	When  When
	Index int32
	Level float64    // GrandMaster: 0..1
	Over  clock.Time // GrandMaster: how long it takes
}
