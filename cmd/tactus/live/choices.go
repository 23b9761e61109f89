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

// leadOf returns who leads: what --clock says, else the show, which may leave
// sources out.
func leadOf(name string, s shows.Sources) (clock.Lead, error) {
	switch name {
	case "":
		switch {
		case s.MIDI && !s.Tap && !s.Internal:
			return clock.LeadMIDI, nil
		case !s.MIDI && s.Tap:
			return clock.LeadTap, nil
		case !s.MIDI && s.Internal:
			return clock.LeadInternal, nil
		}
		return clock.LeadAuto, nil
	case "auto":
		return clock.LeadAuto, nil
	case "midi":
		return clock.LeadMIDI, nil
	case "tap":
		return clock.LeadTap, nil
	case "internal":
		return clock.LeadInternal, nil
	}
	return 0, usage.Errorf("--clock %q: want auto, midi, tap or internal", name)
}

func firstTempo(p *engine.Program) clock.Tempo {
	if len(p.SetList) == 0 {
		return clock.BPM(120)
	}
	return p.Songs[p.SetList[0]].Tempo
}

// freeGrid returns how frames are laid: what --grid says, else the show.
func freeGrid(name string, show bool) (bool, error) {
	switch name {
	case "":
		return show, nil
	case "beat":
		return false, nil
	case "free":
		return true, nil
	}
	return false, usage.Errorf("--grid %q: want beat or free", name)
}
