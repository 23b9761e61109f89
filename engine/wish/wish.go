package wish

import (
	"tactus/engine"
	"tactus/protocol/osc"
)

// OSC is what an OSC address has before the path of a wish.
const OSC = "/tactus/"

// Wish is something that can be asked for.
type Wish struct {
	Path  string // such as section/arm
	Args  string // what goes with it, in words; "": nothing
	Words string // what it does
	read  func(p *engine.Program, args []osc.Arg) (engine.Input, error)
}

// Read returns what the loop is to take. The names in args are those of p. The
// error says what is wrong with them, or is [ErrReleased]. Events have no time:
// the caller stamps them.
func (w *Wish) Read(p *engine.Program, args []osc.Arg) (engine.Input, error) { return w.read(p, args) }

// List returns all that can be asked for by name. It is what notes can ask for,
// with names and levels besides.
func List() []Wish {
	list := []Wish{
		{"section/fire", "name, or number in the song", "enter a section now", readSection(engine.FireName, engine.FireSection)},
		{"section/arm", "name or number; beat, bar, phrase or section end (bar unless said)", "enter it at the next boundary", readSection(engine.ArmName, engine.ArmSection)},
		{"section/next", "beat, bar, phrase, section end or once (bar unless said)", "the section after the present one", readBeside(engine.NextSection)},
		{"section/previous", "likewise", "the section before it", readBeside(engine.PreviousSection)},
		{"song/select", "name, or number in the set", "choose a song", readSong},
		{"look", "name", "a look, out of the song", readLook},
		{"master", "level 0 to 1; seconds", "grand master", readMaster},
		{"group", "name; level 0 to 1; seconds", "a group's master", readGroup},
		{"tap", "", "tap the tempo", readTap},
	}
	for _, b := range Buttons() {
		if b.Kind != engine.NextSection && b.Kind != engine.PreviousSection {
			list = append(list, Wish{b.Path, "", b.Words, readButton(b.Kind)})
		}
	}
	return list
}

// Button is a wish that a note alone can express.
type Button struct {
	Kind  engine.CommandKind
	Path  string
	Words string // what it does, as it is printed beside its note
}

// Buttons returns them in the order that they are printed in.
func Buttons() []Button {
	return []Button{
		{engine.Hold, "hold", "hold: stay on the present light"},
		{engine.Release, "release", "release: move on from it"},
		{engine.Blackout, "blackout", "blackout: stage dark, house light and haze stay"},
		{engine.Restore, "restore", "restore: back from blackout"},
		{engine.ShowWalkIn, "walk-in", "walk-in look"},
		{engine.ShowWalkOut, "walk-out", "walk-out look"},
		{engine.NextSong, "song/next", "next song of the set"},
		{engine.Disarm, "section/disarm", "disarm: forget what is armed"},
		{engine.PreviousSong, "song/previous", "previous song"},
		{engine.RestartSong, "song/restart", "the song from its start"},
		{engine.NextSection, "section/next", "next section, at the next bar"},
		{engine.PreviousSection, "section/previous", "previous section, at the next bar"},
		{engine.ShowTalk, "talk", "look for speech"},
		{engine.ShowPad, "pad", "look for a pad between songs"},
		{engine.HouseUp, "house/up", "house lights full"},
		{engine.HouseHalf, "house/half", "house lights at half"},
		{engine.HouseOut, "house/out", "house lights out"},
		{engine.HouseFree, "house/cued", "house lights as the show has them"},
		{engine.WorkLight, "work-light/on", "work light: house and work light full, over everything"},
		{engine.WorkLightOff, "work-light/off", "work light off"},
		{engine.HalfTime, "time/half", "half time: effects at half their rate"},
		{engine.DoubleTime, "time/double", "double time: effects at twice their rate"},
		{engine.StraightTime, "time/straight", "straight time: effects at their own rate"},
		{engine.Downbeat, "downbeat", "downbeat: the nearest beat is the first of a bar"},
		{engine.AlignBars, "bars/align", "align bars: follow the beats that the DAW's notes keep to"},
		{engine.ReleaseOverride, "overrides/release", "let go of what is held by hand"},
	}
}
