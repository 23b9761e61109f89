package shows

import "tactus/engine"

// control is a note that means something in every song.
type control struct {
	key   string // in show.yaml
	about string
	kind  engine.CommandKind // 0: tap
	note  int64              // unless the show says
	// yields: it has no note unless said where that one is taken, or where control
	// shares its channel with sections.
	yields bool
}

// controls are the notes of a show, in the order they are printed.
func controls() []control {
	return []control{
		{"hold", "Stay on the present light; 96 unless said.", engine.Hold, 96, false},
		{"release", "Move on from a hold; 97 unless said.", engine.Release, 97, false},
		{"blackout", "Stage dark; what blackout spares stays; 98 unless said.", engine.Blackout, 98, false},
		{"restore", "Back from blackout; 99 unless said.", engine.Restore, 99, false},
		{"walk-in", "The walk-in look; 100 unless said.", engine.ShowWalkIn, 100, false},
		{"walk-out", "The walk-out look; 101 unless said.", engine.ShowWalkOut, 101, false},
		{"next song", "The next song of the set list; 102 unless said.", engine.NextSong, 102, false},
		{"disarm", "Forget the section that is armed; 103 unless said.", engine.Disarm, 103, false},
		{"tap", "Tap the beat; 104 unless said.", 0, 104, false},
		{"previous song", "The song before; 105 unless said.", engine.PreviousSong, 105, true},
		{"restart song", "The song from its start; 106 unless said.", engine.RestartSong, 106, true},
		{"next section", "The section after the present one, at the next bar; 107 unless said.", engine.NextSection, 107, true},
		{"previous section", "The section before it, at the next bar; 108 unless said.", engine.PreviousSection, 108, true},
		{"talk", "The set's look for speech; 109 unless said.", engine.ShowTalk, 109, true},
		{"pad", "The set's look for a pad between songs; 110 unless said.", engine.ShowPad, 110, true},
		{"house up", "House lights full; 111 unless said.", engine.HouseUp, 111, true},
		{"house half", "House lights at half; 112 unless said.", engine.HouseHalf, 112, true},
		{"house out", "House lights out; 113 unless said.", engine.HouseOut, 113, true},
		{"house as cued", "House lights as the show has them; 114 unless said.", engine.HouseFree, 114, true},
		{"work light", "House and work light full, over everything; 115 unless said.", engine.WorkLight, 115, true},
		{"work light off", "Back from it; 116 unless said.", engine.WorkLightOff, 116, true},
		{"half time", "Effects at half their rate from the next beat; 117 unless said.", engine.HalfTime, 117, true},
		{"double time", "Effects at twice their rate; 118 unless said.", engine.DoubleTime, 118, true},
		{"straight time", "Effects at their own rate; 119 unless said.", engine.StraightTime, 119, true},
		{"downbeat", "The nearest beat is the first of a bar; 120 unless said.", engine.Downbeat, 120, true},
		{"halve the tempo", "Half the tempo that was tapped; 121 unless said.", halveTempo, 121, true},
		{"double the tempo", "Twice the tempo that was tapped; 122 unless said.", doubleTempo, 122, true},
		{"release overrides", "Let go of what an operator holds by hand; 123 unless said.", engine.ReleaseOverride, 123, true},
		{"align bars", "The bars follow the beats that the DAW's notes keep to, once three agree; 124 unless said.", engine.AlignBars, 124, true},
	}
}

// Controls of the clock, which are no commands of the engine; 0 is the tap.
const (
	halveTempo  = engine.NumCommands + 1
	doubleTempo = engine.NumCommands + 2
)

// firstSectionNote is where section notes start unless the show says: C2 where
// middle C is C4, the low end of most pad controllers (common practice, no
// source).
const firstSectionNote = 36
