package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// CommandKind says what a Command asks for.
type CommandKind uint8

// The kinds of command. Each says what it wants, never "toggle", so that a
// command that comes twice does no harm. The numbers are kept: journals hold
// them, and new kinds go to the end.
const (
	SelectSong      CommandKind = iota + 1 // Index: song
	NextSong                               // the one after the present in the set list
	FireSection                            // Index: section of the song; enter it now
	ArmSection                             // Index: section; enter it When
	FireNote                               // Index: MIDI note that names a section of the song
	ArmNote                                // likewise, When
	Disarm                                 // forget what is armed
	ShowLook                               // Index: look; leaves the song
	ShowWalkIn                             // the set's walk-in look
	ShowWalkOut                            // the set's walk-out look
	Hold                                   // stay on the present light
	Release                                // move on from it
	Blackout                               // stage dark; house light and haze stay
	Restore                                // and back
	GrandMaster                            // Level, Over
	PreviousSong                           // the one before the present in the set list
	SelectPlace                            // Index: place in the set list, from 0
	RestartSong                            // the present song from its first downbeat
	NextSection                            // the section after the present, When
	PreviousSection                        // the one before it, When
	ShowTalk                               // the set's look for speech
	ShowPad                                // the set's look for a pad between songs
	HouseUp                                // house lights full
	HouseHalf                              // half
	HouseOut                               // dark
	HouseFree                              // as the show has them
	GroupMaster                            // Index: group; Level, Over
	Override                               // Index: group; Param, Level, Over; For, or until released
	ReleaseOverride                        // Index: group, or None for all; Over
	WorkLight                              // house and work light full, whatever else holds
	WorkLightOff                           // and back
	HalfTime                               // effects at half their rate from the next beat
	DoubleTime                             // at twice their rate
	StraightTime                           // at their own
	Downbeat                               // the nearest beat is the first of a bar
	FireName                               // Index: into Program.SectionNames, a name that a section of the song may have
	ArmName                                // likewise, When
	AlignBars                              // Index: ticks that the DAW's bars are later than counted, ±12; a Loop fills it in
	NumCommands
)

// When says at which boundary an armed section is entered.
type When uint8

// The boundaries, counted from where the present section was entered. AtOnce is
// for NextSection and PreviousSection; a fired section needs none.
const (
	NextBeat When = iota
	NextBar
	SectionEnd
	NextPhrase // Command.Bars bars, or the show's phrase
	AtOnce
	numWhen
)

// String names the boundary as show files and screens do.
func (w When) String() string {
	return nameOf([]string{"beat", "bar", "section end", "phrase", "once"}, int(w))
}

// Command is what a person or a DAW asks of the show. It is a value, applied at a
// frame. Package commands has the words for each kind.
type Command struct {
	Kind  CommandKind
	When  When
	Param fixtures.Param // Override
	Bars  uint8          // NextPhrase: bars of a phrase; 0: as the show says
	Index int32
	Level float64    // GrandMaster, GroupMaster, Override: 0..1
	Over  clock.Time // how long it takes
	For   clock.Time // Override: how long it holds; 0: until released
}
