package live

import (
	"tactus/clock"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/protocol/dmx"
	"tactus/shows"
)

// longestGap returns how long a frame may wait to be sent by the universe with
// the fewest a second: its period and one of the loop's.
func longestGap(o *shows.Outputs) clock.Time {
	gap := clock.Time(0)
	for _, u := range o.Universes {
		if u.Protocol != shows.Virtual && u.Rate > 0 && u.Rate < dmx.MaxRate {
			gap = max(gap, clock.Second/clock.Time(u.Rate)+clock.Second/dmx.MaxRate)
		}
	}
	return gap
}

// leadSource returns what leads the tempo: what --clock says, else what the show
// allows.
func leadSource(name string, s shows.Sources) (clock.Lead, error) {
	named, known := map[string]clock.Lead{
		"auto": clock.LeadAuto, "midi": clock.LeadMIDI, "tap": clock.LeadTap, "internal": clock.LeadInternal,
	}[name]
	switch {
	case known:
		return named, nil
	case name != "":
		return 0, usage.Errorf("--clock %q: want auto, midi, tap or internal", name)
	case s.MIDI && !s.Tap && !s.Internal:
		return clock.LeadMIDI, nil
	case !s.MIDI && s.Tap:
		return clock.LeadTap, nil
	case !s.MIDI && s.Internal:
		return clock.LeadInternal, nil
	}
	return clock.LeadAuto, nil
}

func firstTempo(p *engine.Program) clock.Tempo {
	if len(p.SetList) == 0 {
		return clock.BPM(120)
	}
	return p.Songs[p.SetList[0]].Tempo
}

// gridIsFree reports whether frames come at even distances, else a beat is always
// one: as --grid says, else as the show does.
func gridIsFree(name string, show bool) (bool, error) {
	if name != "" && name != "beat" && name != "free" {
		return false, usage.Errorf("--grid %q: want beat or free", name)
	}
	return name == "free" || name == "" && show, nil
}
