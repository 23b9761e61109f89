package shows

import "tactus/engine"

// control is a note that means something in every song.
type control struct {
	key   string // in show.yaml
	about string
	kind  engine.CommandKind // 0: tap
	note  int64              // unless the show says
}

// controls are the notes of a show, in the order they are printed.
func controls() []control {
	return []control{
		{"hold", "Stay on the present light; 96 unless said.", engine.Hold, 96},
		{"release", "Move on from a hold; 97 unless said.", engine.Release, 97},
		{"blackout", "Stage dark; what blackout spares stays; 98 unless said.", engine.Blackout, 98},
		{"restore", "Back from blackout; 99 unless said.", engine.Restore, 99},
		{"walk-in", "The walk-in look; 100 unless said.", engine.ShowWalkIn, 100},
		{"walk-out", "The walk-out look; 101 unless said.", engine.ShowWalkOut, 101},
		{"next song", "The next song of the set list; 102 unless said.", engine.NextSong, 102},
		{"disarm", "Forget the section that is armed; 103 unless said.", engine.Disarm, 103},
		{"tap", "Tap the beat; 104 unless said.", 0, 104},
	}
}

// firstSectionNote is where section notes start unless the show says: C2 where
// middle C is C4, the low end of most pad controllers (common practice, no
// source).
const firstSectionNote = 36
