package commands

import (
	"slices"
	"sync"

	"tactus/clock"
	"tactus/engine"
)

// Table returns the rows, by what they are about: sections, songs, looks and
// masters, the light as a whole, house lights, effects and the beat.
func Table() []Row {
	return slices.Concat(sections(), songs(), levels(), light(), house(), beat())
}

// Noted returns the rows that a note can give, from the lowest note up.
func Noted() []Row {
	list := slices.DeleteFunc(Table(), func(r Row) bool { return r.Note == 0 })
	slices.SortFunc(list, func(a, b Row) int { return int(a.Note) - int(b.Note) })
	return list
}

// Of returns the row of a kind; false if the kind does not exist.
func Of(k engine.CommandKind) (Row, bool) {
	if k == 0 || k >= engine.NumCommands {
		return Row{}, false
	}
	return byKind()[k], true
}

// byKind is made once: nothing changes it.
var byKind = sync.OnceValue(func() []Row {
	list := make([]Row, engine.NumCommands)
	for _, r := range Table() {
		list[r.Kind()] = r
	}
	return list
})

func do(k engine.CommandKind) engine.Command { return engine.Command{Kind: k} }

// atBar asks for the next bar unless an argument says another boundary.
func atBar(k engine.CommandKind) engine.Command {
	return engine.Command{Kind: k, When: engine.NextBar}
}

func sections() []Row {
	const fire, arm = "enter a section now", "enter a section at the next boundary"
	when := Argument{Boundary, true}
	beside := []Argument{{BoundaryOrOnce, true}}
	return []Row{
		{Name: "fire name", Command: atBar(engine.FireName), Does: fire, Path: "section/fire", Args: []Argument{{Kind: SectionName}}},
		{Name: "fire section", Command: atBar(engine.FireSection), Does: fire, Path: "section/fire", Args: []Argument{{Kind: SectionNumber}}},
		{Name: "fire note", Command: do(engine.FireNote), Does: fire, MIDI: `the section's note, on the channel "fire"`},
		{Name: "arm name", Command: atBar(engine.ArmName), Does: arm, Path: "section/arm", Args: []Argument{{Kind: SectionName}, when}},
		{Name: "arm section", Command: atBar(engine.ArmSection), Does: arm, Path: "section/arm", Args: []Argument{{Kind: SectionNumber}, when}},
		{Name: "arm note", Command: do(engine.ArmNote), Does: arm, MIDI: `the section's note, on a channel "arm at ..."`},
		{
			Name: "next section", Command: atBar(engine.NextSection), Does: "the section after the present one, at the next bar", Path: "section/next", Args: beside,
			Note: 107, Yields: true, Button: Button{Group: "sections", Label: "Next section", Large: true},
		},
		{
			Name: "previous section", Command: atBar(engine.PreviousSection), Does: "the section before the present one, at the next bar", Path: "section/previous", Args: beside,
			Note: 108, Yields: true,
		},
		{
			Name: "disarm", Command: do(engine.Disarm), Does: "forget the section that is armed", Path: "section/disarm",
			Note: 103, Button: Button{Group: "sections", Label: "Forget what is armed"},
		},
	}
}

func songs() []Row {
	const choose = "choose a song"
	return []Row{
		{
			Name: "select song", Command: do(engine.SelectSong), Does: choose, Path: "song/select", Args: []Argument{{Kind: SongName}},
			MIDI: "the song's program change, on the control channel",
		},
		{Name: "select place", Command: do(engine.SelectPlace), Does: choose, Path: "song/select", Args: []Argument{{Kind: SongNumber}}},
		{Name: "next song", Command: do(engine.NextSong), Does: "the next song of the set", Path: "song/next", Note: 102},
		{Name: "previous song", Command: do(engine.PreviousSong), Does: "the song of the set before the present one", Path: "song/previous", Note: 105, Yields: true},
		{Name: "restart song", Command: do(engine.RestartSong), Does: "the song from its start", Path: "song/restart", Note: 106, Yields: true},
		{
			Name: "talk", Command: do(engine.ShowTalk), Does: "the set's look for speech", Path: "talk",
			Note: 109, Yields: true, Button: Button{Group: "looks", Label: "Talk"},
		},
		{
			Name: "pad", Command: do(engine.ShowPad), Does: "the set's look for a pad between songs", Path: "pad",
			Note: 110, Yields: true, Button: Button{Group: "looks", Label: "Pad"},
		},
		{
			Name: "walk-in", Command: do(engine.ShowWalkIn), Does: "the walk-in look", Path: "walk-in",
			Note: 100, Button: Button{Group: "looks", Label: "Walk-in", Twice: true},
		},
		{
			Name: "walk-out", Command: do(engine.ShowWalkOut), Does: "the walk-out look", Path: "walk-out",
			Note: 101, Button: Button{Group: "looks", Label: "Walk-out", Twice: true},
		},
	}
}

func levels() []Row {
	fader := `a control change that "faders" names, on the control channel`
	over := Argument{Seconds, true}
	return []Row{
		{Name: "show look", Command: do(engine.ShowLook), Does: "a look, out of the song", Path: "look", Args: []Argument{{Kind: LookName}}},
		{Name: "grand master", Command: do(engine.GrandMaster), Does: "the grand master", Path: "master", Args: []Argument{{Kind: Level}, over}, MIDI: fader},
		{Name: "group master", Command: do(engine.GroupMaster), Does: "a group's master", Path: "group", Args: []Argument{{Kind: GroupName}, {Kind: Level}, over}, MIDI: fader},
		{Name: "override", Command: do(engine.Override), Does: "hold a level of a group by hand"},
		{
			Name: "release overrides", Was: []string{"release-override"}, Command: engine.Command{Kind: engine.ReleaseOverride, Index: engine.None},
			Does: "let go of what is held by hand", Path: "overrides/release",
			Note: 123, Yields: true, Button: Button{Group: "masters", Label: "Let go of what is held by hand"},
		},
	}
}

func light() []Row {
	return []Row{
		{
			Name: "hold", Command: do(engine.Hold), Does: "stay on the present light", Path: "hold",
			Note: 96, Button: Button{Group: "light", Label: "Hold", Large: true, Undo: engine.Release},
		},
		{Name: "release", Command: do(engine.Release), Does: "move on from a hold", Path: "release", Note: 97, Button: Button{Label: "Release"}},
		{
			Name: "blackout", Command: do(engine.Blackout), Does: "stage dark; what blackout spares stays, such as house light and haze", Path: "blackout",
			Note: 98, Button: Button{Group: "light", Label: "Blackout", Large: true, Twice: true, Undo: engine.Restore},
		},
		{Name: "restore", Command: do(engine.Restore), Does: "back from blackout", Path: "restore", Note: 99, Button: Button{Label: "Restore"}},
		{
			Name: "work light", Command: do(engine.WorkLight), Does: "house and work light full, over everything", Path: "work-light/on",
			Note: 115, Yields: true, Button: Button{Group: "light", Label: "Work light", Large: true, Undo: engine.WorkLightOff},
		},
		{
			Name: "work light off", Command: do(engine.WorkLightOff), Does: "back from work light", Path: "work-light/off",
			Note: 116, Yields: true, Button: Button{Label: "Work light off"},
		},
	}
}

func house() []Row {
	return []Row{
		{
			Name: "house up", Command: do(engine.HouseUp), Does: "house lights full", Path: "house/up",
			Note: 111, Yields: true, Button: Button{Group: "house", Label: "Up"},
		},
		{
			Name: "house half", Command: do(engine.HouseHalf), Does: "house lights at half", Path: "house/half",
			Note: 112, Yields: true, Button: Button{Group: "house", Label: "Half"},
		},
		{
			Name: "house out", Command: do(engine.HouseOut), Does: "house lights out", Path: "house/out",
			Note: 113, Yields: true, Button: Button{Group: "house", Label: "Out", Twice: true},
		},
		{
			Name: "house as cued", Was: []string{"house-free"}, Command: do(engine.HouseFree), Does: "house lights as the show has them", Path: "house/cued",
			Note: 114, Yields: true, Button: Button{Group: "house", Label: "As cued"},
		},
	}
}

func beat() []Row {
	return []Row{
		{
			Name: "half time", Command: do(engine.HalfTime), Does: "effects at half their rate from the next beat", Path: "time/half",
			Note: 117, Yields: true, Button: Button{Group: "effects", Label: "Half time"},
		},
		{
			Name: "straight time", Command: do(engine.StraightTime), Does: "effects at their own rate from the next beat", Path: "time/straight",
			Note: 119, Yields: true, Button: Button{Group: "effects", Label: "Straight"},
		},
		{
			Name: "double time", Command: do(engine.DoubleTime), Does: "effects at twice their rate from the next beat", Path: "time/double",
			Note: 118, Yields: true, Button: Button{Group: "effects", Label: "Double time", Twice: true},
		},
		{
			Name: "downbeat", Command: do(engine.Downbeat), Does: "the nearest beat is the first of a bar", Path: "downbeat",
			Note: 120, Yields: true, Button: Button{Group: "effects", Label: "This is the downbeat"},
		},
		{
			Name: "align bars", Command: do(engine.AlignBars), Does: "the bars follow the beats that the DAW's notes keep to, once three agree", Path: "bars/align",
			Note: 124, Yields: true, Button: Button{Group: "bars", Label: "Align bars"},
		},
		{Name: "tap", Event: clock.Tap, Does: "tap the beat", Path: "tap", Note: 104, Button: Button{Group: "light", Label: "Tap tempo"}},
		{Name: "halve the tempo", Event: clock.Halve, Does: "half the tempo that was tapped", Note: 121, Yields: true},
		{Name: "double the tempo", Event: clock.Double, Does: "twice the tempo that was tapped", Note: 122, Yields: true},
	}
}
