package journal

import (
	"tactus/clock"
	"tactus/engine"
)

// named is a word and what it stands for. Files keep the words.
type named[K comparable] struct {
	kind K
	word string
}

func events() []named[clock.Kind] {
	return []named[clock.Kind]{
		{clock.Tick24, "tick"},
		{clock.Start, "start"},
		{clock.Stop, "stop"},
		{clock.Continue, "continue"},
		{clock.Locate, "locate"},
		{clock.Tap, "tap"},
		{clock.SetTempo, "tempo"},
		{clock.Lost, "port-lost"},
		{clock.Halve, "halve"},
		{clock.Double, "double"},
		{clock.Planned, "planned"},
	}
}

func commands() []named[engine.CommandKind] {
	return []named[engine.CommandKind]{
		{engine.SelectSong, "select-song"},
		{engine.NextSong, "next-song"},
		{engine.FireSection, "fire-section"},
		{engine.ArmSection, "arm-section"},
		{engine.FireNote, "fire-note"},
		{engine.ArmNote, "arm-note"},
		{engine.Disarm, "disarm"},
		{engine.ShowLook, "show-look"},
		{engine.ShowWalkIn, "walk-in"},
		{engine.ShowWalkOut, "walk-out"},
		{engine.Hold, "hold"},
		{engine.Release, "release"},
		{engine.Blackout, "blackout"},
		{engine.Restore, "restore"},
		{engine.GrandMaster, "grand-master"},
		{engine.PreviousSong, "previous-song"},
		{engine.SelectPlace, "select-place"},
		{engine.RestartSong, "restart-song"},
		{engine.NextSection, "next-section"},
		{engine.PreviousSection, "previous-section"},
		{engine.ShowTalk, "talk"},
		{engine.ShowPad, "pad"},
		{engine.HouseUp, "house-up"},
		{engine.HouseHalf, "house-half"},
		{engine.HouseOut, "house-out"},
		{engine.HouseFree, "house-free"},
		{engine.GroupMaster, "group-master"},
		{engine.Override, "override"},
		{engine.ReleaseOverride, "release-override"},
		{engine.WorkLight, "work-light"},
		{engine.WorkLightOff, "work-light-off"},
		{engine.HalfTime, "half-time"},
		{engine.DoubleTime, "double-time"},
		{engine.StraightTime, "straight-time"},
		{engine.Downbeat, "downbeat"},
		{engine.FireName, "fire-name"},
		{engine.ArmName, "arm-name"},
		{engine.AlignBars, "align-bars"},
	}
}

// wordOf returns the word of a kind, or "".
func wordOf[K comparable](list []named[K], kind K) string {
	for _, n := range list {
		if n.kind == kind {
			return n.word
		}
	}
	return ""
}

// kindOf returns the kind that a word stands for.
func kindOf[K comparable](list []named[K], word string) (kind K, ok bool) {
	for _, n := range list {
		if n.word == word {
			return n.kind, true
		}
	}
	return kind, false
}

// CommandName returns the word of a command, or "" for one that there is not.
func CommandName(k engine.CommandKind) string { return wordOf(commands(), k) }
