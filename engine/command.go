package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// CommandKind is what a Command asks for.
type CommandKind uint8

// The kinds of command. None of them toggles, so that a command that comes twice
// does no harm. New kinds go to the end: the numbers never change.
const (
	SelectSong      CommandKind = iota + 1 // Index: song
	NextSong                               // the one after the present in the set list
	FireSection                            // Index: section of the song; enter it now
	ArmSection                             // Index: section; enter it When
	FireNote                               // Index: MIDI note that names a section of the song
	ArmNote                                // likewise, When
	Disarm                                 // nothing is armed any more
	ShowLook                               // Index: look; leaves the song
	ShowWalkIn                             // the set's walk-in look
	ShowWalkOut                            // the set's walk-out look
	Hold                                   // stay on the present light
	Release                                // end a hold
	Blackout                               // stage dark; house light and haze stay
	Restore                                // end a blackout
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
	HouseFree                              // as the show sets them
	GroupMaster                            // Index: group; Level, Over
	Override                               // Index: group; Param, Level, Over; For, or until released
	ReleaseOverride                        // Index: group, or None for all; Over
	WorkLight                              // house and work light full, over all else
	WorkLightOff                           // end it
	HalfTime                               // effects at half their rate from the next beat
	DoubleTime                             // at twice their rate
	StraightTime                           // at their own
	Downbeat                               // the nearest beat is the first of a bar
	FireName                               // Index: into Program.SectionNames: the song's section of that name
	ArmName                                // likewise, When
	AlignBars                              // Index: how many ticks later than counted the DAW's bars are, ±12; a Loop sets it
	SelectByProgram                        // Index: song; a MIDI program change, which waits while a song plays
	NumCommands
)

// When is the boundary at which an armed section is entered.
type When uint8

// The boundaries, counted from where the present section was entered. AtOnce is for
// NextSection and PreviousSection.
const (
	NextBeat When = iota
	NextBar
	SectionEnd
	NextPhrase // a phrase is Command.Bars bars
	AtOnce
	numWhen
)

// String names the boundary as show files and screens do.
func (w When) String() string {
	return nameOf([]string{"beat", "bar", "section end", "phrase", "once"}, int(w))
}

// Command is what a person or a DAW asks of the show. Package commands names each
// kind for every input.
type Command struct {
	Kind  CommandKind
	When  When
	Param fixtures.Param // Override
	Bars  uint8          // NextPhrase: bars of a phrase; 0: Program.Phrase
	Index int32
	Level float64    // GrandMaster, GroupMaster, Override: 0..1
	Over  clock.Time // how long it takes
	For   clock.Time // Override: how long it acts; 0: until released
}
