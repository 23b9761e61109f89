package shows

import (
	"testing"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/protocol/dmx"
)

// The whole night is rendered, and its light reckoned from the bytes on the wire.
// In no second does a head, a truss or the stage flash more than twice; three a
// second is the line of WCAG 2.2, 2.3.1. The flash limiter has nothing to do. This
// stands for the demo at its own tempos only: it is no safety certificate.
func TestDemoNightStaysBelowThreeFlashes(t *testing.T) {
	show, problems := Load(Demo(), Options{})
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	p := show.Program
	heads := flash.Heads(p.Patch)
	var groups [][]int
	for _, g := range p.Groups {
		var list []int
		for _, h := range g.Heads {
			list = append(list, int(h))
		}
		groups = append(groups, list)
	}
	for n := range p.Songs {
		s := &p.Songs[n]
		e := engine.New(p)
		pos := clock.Position{Tempo: s.Tempo, Sync: clock.Locked, Source: clock.MIDI}
		e.Do(engine.Command{Kind: engine.SelectSong, Index: int32(n)}, pos)
		meters := make([]flash.Meter, len(p.Heads)+len(groups)+1)
		lit := 0
		for pos.Playing, pos.Jumps = true, 1; ; pos.At += clock.Second / dmx.MaxRate {
			pos.Beat = s.BeatAt(pos.At)
			pos.Pulse = pos.Beat
			if pos.Beat >= s.Length() {
				break
			}
			frame := e.Frame(pos)
			lights := make([]float64, len(p.Heads))
			stage := 0.0
			for h := range lights {
				lights[h] = slotLight(p, heads[h], frame, h)
				stage += lights[h] / float64(len(lights))
				meters[h].See(pos.At, grey(lights[h]))
			}
			for i, list := range groups {
				sum := 0.0
				for _, h := range list {
					sum += lights[h] / float64(len(list))
				}
				meters[len(lights)+i].See(pos.At, grey(sum))
			}
			meters[len(meters)-1].See(pos.At, grey(stage))
			if stage > 0.02 {
				lit++
			}
		}
		if lit < 44*60 {
			t.Errorf("%s is lit for %d frames only: nothing was looked at", s.Name, lit)
		}
		for i := range meters {
			if worst := meters[i].Worst(flash.General); worst.Flashes > 2 {
				t.Errorf("%s, area %d: %.1f flashes in the second up to %v, at most 2", s.Name, i, worst.Flashes, worst.End.Sub(0))
			}
		}
		if f := e.Status(pos).Flash; f.Count != 0 {
			t.Errorf("%s: the flash limiter acted %d times, last in %s", s.Name, f.Count, f.Area)
		}
	}
}

func grey(y float64) [3]float64 { return [3]float64{y, y, y} }

// slotLight reads the light of a head from its slots: its dimmer, if it has one,
// times the luminance of its emitters by their flux, of full white.
func slotLight(p *engine.Program, full flash.Head, frame []dmx.Universe, head int) float64 {
	f := &p.Patch.Placements()[p.Heads[head].Fixture]
	dim, sum, colours := 1.0, 0.0, false
	for i, c := range f.Profile.Channels {
		v := float64(frame[f.Universe].Slots[f.Address-1+i]) / 255
		switch {
		case int(c.Head) != head-f.Head || c.Use != 0:
		case c.Param == 0:
			dim = v
		case c.Param.Emits():
			for _, e := range f.Profile.Emitters {
				if e.Param == c.Param {
					sum += v * e.Flux
					colours = true
				}
			}
		}
	}
	switch {
	case full.Flux == 0:
		return 0
	case !colours:
		return dim
	}
	return dim * sum / full.Flux
}
