package commands

import (
	"slices"
	"sync"

	"tactus/clock"
	"tactus/engine"
)

// Table returns all rows: sections, songs, looks and masters, the light as a whole,
// house lights, effects and the beat.
func Table() []Row {
	return slices.Concat(sections(), songs(), levels(), light(), house(), beat())
}

// ByNote returns the rows with a default note, from the lowest note up.
func ByNote() []Row {
	list := slices.DeleteFunc(Table(), func(r Row) bool { return r.Note == 0 })
	slices.SortFunc(list, func(a, b Row) int { return int(a.Note) - int(b.Note) })
	return list
}

// Lookup returns the row of a kind; false if there is no such kind.
func Lookup(k engine.CommandKind) (Row, bool) {
	if k == 0 || k >= engine.NumCommands {
		return Row{}, false
	}
	return byKind()[k], true
}

// byKind holds the rows by kind. It is made once, and nothing changes it.
var byKind = sync.OnceValue(func() []Row {
	list := make([]Row, engine.NumCommands)
	for _, r := range Table() {
		list[r.Kind()] = r
	}
	return list
})

func ofKind(k engine.CommandKind) engine.Command { return engine.Command{Kind: k} }

// atBar asks for the next bar unless an argument says another boundary.
func atBar(k engine.CommandKind) engine.Command {
	return engine.Command{Kind: k, When: engine.NextBar}
}

func sections() []Row {
	const fire, arm = "enter a section now", "enter a section at the next boundary"
	when := Argument{Boundary, true}
	beside := []Argument{{BoundaryOrOnce, true}}
	return []Row{
		{Name: "fire name", Command: atBar(engine.FireName), Description: fire, Path: "section/fire", Args: []Argument{{Kind: SectionName}}},
		{Name: "fire section", Command: atBar(engine.FireSection), Description: fire, Path: "section/fire", Args: []Argument{{Kind: SectionNumber}}},
		{Name: "fire note", Command: ofKind(engine.FireNote), Description: fire, MIDI: `the section's note, on the channel "fire"`},
		{Name: "arm name", Command: atBar(engine.ArmName), Description: arm, Path: "section/arm", Args: []Argument{{Kind: SectionName}, when}},
		{Name: "arm section", Command: atBar(engine.ArmSection), Description: arm, Path: "section/arm", Args: []Argument{{Kind: SectionNumber}, when}},
		{Name: "arm note", Command: ofKind(engine.ArmNote), Description: arm, MIDI: `the section's note, on a channel "arm at ..."`},
		{
			Name: "next section", Command: atBar(engine.NextSection), Description: "the section after the present one, at the next bar", Path: "section/next", Args: beside,
			Note: 107, NoteYields: true, Button: Button{Group: "sections", Label: "Next section", Key: "n", Large: true},
		},
		{
			Name: "previous section", Command: atBar(engine.PreviousSection), Description: "the section before the present one, at the next bar", Path: "section/previous", Args: beside,
			Note: 108, NoteYields: true,
		},
		{
			Name: "disarm", Command: ofKind(engine.Disarm), Description: "cancel the armed section or song", Path: "section/disarm",
			Note: 103, Button: Button{Group: "sections", Label: "Disarm", Key: "x"},
		},
	}
}

func songs() []Row {
	const choose = "choose a song"
	return []Row{
		{
			Name: "select song", Command: ofKind(engine.SelectSong), Description: choose, Path: "song/select", Args: []Argument{{Kind: SongName}},
		},
		{
			Name: "program change", Command: ofKind(engine.SelectByProgram), Description: "choose a song, or while one plays, arm it for its end",
			MIDI: "the song's program change, on the control channel",
		},
		{Name: "select place", Command: ofKind(engine.SelectPlace), Description: choose, Path: "song/select", Args: []Argument{{Kind: SongNumber}}},
		{Name: "next song", Command: ofKind(engine.NextSong), Description: "the next song of the set", Path: "song/next", Note: 102},
		{Name: "previous song", Command: ofKind(engine.PreviousSong), Description: "the song of the set before the present one", Path: "song/previous", Note: 105, NoteYields: true},
		{Name: "restart song", Command: ofKind(engine.RestartSong), Description: "the song from its start", Path: "song/restart", Note: 106, NoteYields: true},
		{
			Name: "talk", Command: ofKind(engine.ShowTalk), Description: "the set's look for speech", Path: "talk",
			Note: 109, NoteYields: true, Button: Button{Group: "looks", Label: "Talk"},
		},
		{
			Name: "pad", Command: ofKind(engine.ShowPad), Description: "the set's look for a pad between songs", Path: "pad",
			Note: 110, NoteYields: true, Button: Button{Group: "looks", Label: "Pad"},
		},
		{
			Name: "walk-in", Command: ofKind(engine.ShowWalkIn), Description: "the walk-in look", Path: "walk-in",
			Note: 100, Button: Button{Group: "looks", Label: "Walk-in", NeedsSecondTap: true},
		},
		{
			Name: "walk-out", Command: ofKind(engine.ShowWalkOut), Description: "the walk-out look", Path: "walk-out",
			Note: 101, Button: Button{Group: "looks", Label: "Walk-out", NeedsSecondTap: true},
		},
	}
}

func levels() []Row {
	fader := `a control change that "faders" names, on the control channel`
	over := Argument{Seconds, true}
	return []Row{
		{Name: "show look", Command: ofKind(engine.ShowLook), Description: "a look, out of the song", Path: "look", Args: []Argument{{Kind: LookName}}},
		{Name: "grand master", Command: ofKind(engine.GrandMaster), Description: "the grand master", Path: "master", Args: []Argument{{Kind: Level}, over}, MIDI: fader},
		{Name: "group master", Command: ofKind(engine.GroupMaster), Description: "a group's master", Path: "group", Args: []Argument{{Kind: GroupName}, {Kind: Level}, over}, MIDI: fader},
		{Name: "override", Command: ofKind(engine.Override), Description: "override a level of a group"},
		{
			Name: "release overrides", FormerNames: []string{"release-override"}, Command: engine.Command{Kind: engine.ReleaseOverride, Index: engine.None},
			Description: "release all overrides of levels", Path: "overrides/release",
			Note: 123, NoteYields: true, Button: Button{Group: "masters", Label: "Release overrides"},
		},
	}
}

func light() []Row {
	return []Row{
		{
			Name: "hold", Command: ofKind(engine.Hold), Description: "keep the present light until it is released", Path: "hold",
			Note: 96, Button: Button{Group: "light", Label: "Hold", Key: "h", Large: true, Undo: engine.Release},
		},
		{Name: "release", Command: ofKind(engine.Release), Description: "end a hold", Path: "release", Note: 97, Button: Button{Label: "Release"}},
		{
			Name: "blackout", Command: ofKind(engine.Blackout), Description: `stage dark; fixtures named under "blackout spares", such as house lights and haze, stay`, Path: "blackout",
			Note: 98, Button: Button{Group: "light", Label: "Blackout", Key: "b", Large: true, NeedsSecondTap: true, Undo: engine.Restore},
		},
		{Name: "restore", Command: ofKind(engine.Restore), Description: "end a blackout", Path: "restore", Note: 99, Button: Button{Label: "Restore"}},
		{
			Name: "work light", Command: ofKind(engine.WorkLight), Description: "house and work light full, over everything", Path: "work-light/on",
			Note: 115, NoteYields: true, Button: Button{Group: "light", Label: "Work light", Key: "w", Large: true, Undo: engine.WorkLightOff},
		},
		{
			Name: "work light off", Command: ofKind(engine.WorkLightOff), Description: "end work light", Path: "work-light/off",
			Note: 116, NoteYields: true, Button: Button{Label: "Work light off"},
		},
	}
}

func house() []Row {
	return []Row{
		{
			Name: "house up", Command: ofKind(engine.HouseUp), Description: "house lights full", Path: "house/up",
			Note: 111, NoteYields: true, Button: Button{Group: "house", Label: "Up"},
		},
		{
			Name: "house half", Command: ofKind(engine.HouseHalf), Description: "house lights at half", Path: "house/half",
			Note: 112, NoteYields: true, Button: Button{Group: "house", Label: "Half"},
		},
		{
			Name: "house out", Command: ofKind(engine.HouseOut), Description: "house lights out", Path: "house/out",
			Note: 113, NoteYields: true, Button: Button{Group: "house", Label: "Out", NeedsSecondTap: true},
		},
		{
			Name: "house as cued", FormerNames: []string{"house-free"}, Command: ofKind(engine.HouseFree), Description: "house lights as the show has them", Path: "house/cued",
			Note: 114, NoteYields: true, Button: Button{Group: "house", Label: "As cued"},
		},
	}
}

func beat() []Row {
	return []Row{
		{
			Name: "half time", Command: ofKind(engine.HalfTime), Description: "effects at half their rate from the next beat", Path: "time/half",
			Note: 117, NoteYields: true, Button: Button{Group: "effects", Label: "Half time"},
		},
		{
			Name: "straight time", Command: ofKind(engine.StraightTime), Description: "effects at their own rate from the next beat", Path: "time/straight",
			Note: 119, NoteYields: true, Button: Button{Group: "effects", Label: "Straight"},
		},
		{
			Name: "double time", Command: ofKind(engine.DoubleTime), Description: "effects at twice their rate from the next beat", Path: "time/double",
			Note: 118, NoteYields: true, Button: Button{Group: "effects", Label: "Double time", NeedsSecondTap: true},
		},
		{
			Name: "downbeat", Command: ofKind(engine.Downbeat), Description: "the nearest beat is the first of a bar", Path: "downbeat",
			Note: 120, NoteYields: true, Button: Button{Group: "effects", Label: "This is the downbeat"},
		},
		{
			Name: "align bars", Command: ofKind(engine.AlignBars), Description: "the bars follow the beats that the DAW's notes keep to, once three agree", Path: "bars/align",
			Note: 124, NoteYields: true, Button: Button{Group: "bars", Label: "Align bars"},
		},
		{Name: "tap", Event: clock.Tap, Description: "tap the beat", Path: "tap", Note: 104, Button: Button{Group: "effects", Label: "Tap tempo", Key: "t"}},
		{Name: "halve the tempo", Event: clock.Halve, Description: "half the tempo that was tapped", Note: 121, NoteYields: true},
		{Name: "double the tempo", Event: clock.Double, Description: "twice the tempo that was tapped", Note: 122, NoteYields: true},
	}
}
