package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// witness reckons the light of the hall from bytes, apart from what the limiter
// reckons from states: washes are red, green, blue from slot 1 and 4; lamps,
// front and house are dimmers from slot 7. A dimmer gives as much light as a
// typical white (110 beside red 45, green 90 and blue 20).
type witness struct {
	meters [9 + 3]flash.Counter // heads but the hazer, groups, the rig
	worst  [flash.NumKinds]float64
}

func (w *witness) see(now clock.Time, u *dmx.Universe) {
	var lights [8]fixtures.RGB
	for h := range lights {
		if h < 2 {
			for i := range 3 {
				lights[h][i] = float64(u.Slots[3*h+i]) / 255
			}
			continue
		}
		v := float64(u.Slots[h+4]) / 255
		lights[h] = fixtures.RGB{v, v, v}
	}
	areas := [][]int{{0}, {1}, {2}, {3}, {4}, {5}, {6}, {7}, {0, 1}, {2, 3, 4, 5}, {6}, {0, 1, 2, 3, 4, 5, 6, 7}}
	for n, heads := range areas {
		var sum fixtures.RGB
		full := 0.0
		for _, h := range heads {
			flux := 110.0
			if h < 2 {
				flux = 45 + 90 + 20
			}
			full += flux
			for i := range sum {
				sum[i] += lights[h][i] * flux
			}
		}
		for i := range sum {
			sum[i] /= full
		}
		w.meters[n].Observe(now, sum)
		for k := range flash.NumKinds {
			w.worst[k] = max(w.worst[k], w.meters[n].Rate(now)[k])
		}
	}
}

// wild is the hall with effects, fades and songs that want to flash.
func wild(t *rapid.T, base Program) *Program {
	p := anyHall(t, base)
	p.Effects = slices.Clone(p.Effects)
	for i := range p.Effects {
		e := &p.Effects[i]
		e.Period = rapid.SampledFrom([]Length{{1, 8, false}, {1, 4, false}, {1, 2, false}, {1, 1, false}, {1, 1, true}}).Draw(t, "period")
		e.Blend = Blend(rapid.IntRange(0, int(NumBlends)-1).Draw(t, "blend"))
		if rapid.Bool().Draw(t, "square") {
			e.Wave = Wave{Kind: Square, High: 1, Duty: rapid.SampledFrom([]float64{0.1, 0.5, 0.9}).Draw(t, "duty"), Skew: 0.5}
		}
	}
	return p
}

// hectic draws a night in which light wants to flash: music that plays fast, looks
// with effects, keys that are hammered.
func hectic(t *rapid.T, p *Program) []step {
	list := []step{
		{bpm: rapid.SampledFrom([]float64{90, 120, 180, 240}).Draw(t, "bpm")},
		{event: clock.Event{Kind: clock.Start}, wait: clock.Second},
		{command: Command{Kind: SelectSong, Index: rapid.Int32Range(0, 5).Draw(t, "song")}},
	}
	for range rapid.IntRange(1, 6).Draw(t, "scenes") {
		switch rapid.IntRange(0, 3).Draw(t, "scene") {
		case 0:
			look := rapid.Int32Range(0, int32(len(p.Looks))-1).Draw(t, "look")
			list = append(list, step{command: Command{Kind: ShowLook, Index: look}}, step{wait: 1500 * clock.Millisecond})
		case 1:
			section := rapid.Int32Range(0, 6).Draw(t, "section")
			list = append(list, step{command: Command{Kind: FireSection, Index: section}}, step{wait: 1500 * clock.Millisecond})
		case 2:
			wait := clock.Time(rapid.IntRange(5, 150).Draw(t, "ms")) * clock.Millisecond
			keys := rapid.SampledFrom([][]Command{
				{{Kind: Blackout}, {Kind: Restore}},
				{{Kind: WorkLight}, {Kind: WorkLightOff}},
				{{Kind: GrandMaster, Level: 0}, {Kind: GrandMaster, Level: 1}},
				{{Kind: ShowLook, Index: 0}, {Kind: ShowLook, Index: 3}, {Kind: ShowLook, Index: 5}},
				{{Kind: Override, Index: 1, Level: 1}, {Kind: Override, Index: 1, Level: 0.5}},
				{{Kind: Override, Index: 0, Param: fixtures.Green, Level: 1}, {Kind: Override, Index: 0, Param: fixtures.Green}},
				{ // a dim red, on and off: too dark to count by its luminance
					{Kind: Override, Index: 0, Param: fixtures.Green},
					{Kind: Override, Index: 0, Param: fixtures.Blue},
					{Kind: Override, Index: 0, Level: 0.3},
					{Kind: Override, Index: 0},
				},
			}).Draw(t, "keys")
			for n := range rapid.IntRange(2, 24).Draw(t, "times") {
				list = append(list, step{wait: wait, command: keys[n%len(keys)]})
			}
		default:
			list = append(list, rapid.SliceOfN(steps(allKinds()...), 1, 5).Draw(t, "any")...)
		}
	}
	return list
}

// Whatever programs, tempi, commands and hands do: by the bytes no head, group
// or rig changes more often in any second than three flashes do, and once more
// at most for blackout and work light.
func TestNothingFlashesTooOften(t *testing.T) {
	base := *asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		r := newRider(wild(t, base))
		var w witness
		limit := float64(flash.PerSecond)
		for _, s := range hectic(t, r.engine.prog) {
			r.do(s, func(u []dmx.Universe, pos clock.Position) {
				e := r.engine
				if e.masters.blackout || e.workFade.goal > 0 {
					limit = flash.PerSecond + 0.5
				}
				w.see(pos.At, &u[0])
				for k, worst := range w.worst {
					require.LessOrEqual(t, worst, limit, "at %v: %s flashes in a second", pos.At.Sub(0), flash.Kind(k))
				}
			})
		}
	})
}

// A frame that needs no softening is byte for byte what it is without the
// limiter; one that needs it is never darker than both the frame before and the
// one that is wanted, in no head.
func TestSofteningIsNoDarkening(t *testing.T) {
	base := *asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		p := wild(t, base)
		a, b := newRider(p), newRider(p)
		b.engine.limiter = limiter{}
		var frames []dmx.Universe
		var wanted [][]fixtures.State
		script := hectic(t, p)
		for _, s := range script {
			b.do(s, func(u []dmx.Universe, _ clock.Position) {
				frames = append(frames, u[0])
				wanted = append(wanted, slices.Clone(b.engine.sentLight))
			})
		}
		heads := flash.Heads(p.Patch)
		before := slices.Clone(a.engine.sentLight)
		n := 0
		for _, s := range script {
			a.do(s, func(u []dmx.Universe, pos clock.Position) {
				e := a.engine
				if !slices.Contains(e.limiter.catchingUp, true) {
					require.Equal(t, frames[n], u[0], "at %v nothing is held back, and the frame differs", pos.At.Sub(0))
				}
				for h := range heads {
					y := flash.Luminance(heads[h].Light(&e.sentLight[h]))
					was := flash.Luminance(heads[h].Light(&before[h]))
					want := flash.Luminance(heads[h].Light(&wanted[n][h]))
					require.GreaterOrEqual(t, y, min(was, want)-1e-9, "at %v: %s, before %v", pos.At.Sub(0), p.Heads[h].Name, was)
				}
				copy(before, e.sentLight)
				n++
			})
		}
	})
}

// However the light flashed before, what is to last is there after lasting.
const lasting = 1500 * clock.Millisecond

func TestLastingChangesArrive(t *testing.T) {
	base := *asPlayed(t)
	base.Ease = 0
	rapid.Check(t, func(t *rapid.T) {
		p := wild(t, base)
		r := newRider(p)
		for _, s := range hectic(t, p) {
			r.do(s, nil)
		}
		then := []Command{
			{Kind: Hold},
			{Kind: ReleaseOverride, Index: None},
			{Kind: HouseFree},
			{Kind: WorkLightOff},
			{Kind: GrandMaster, Level: 1},
			{Kind: rapid.SampledFrom([]CommandKind{Blackout, Restore, WorkLight}).Draw(t, "last")},
		}
		for i := range p.Groups {
			then = append(then, Command{Kind: GroupMaster, Index: int32(i), Level: 1})
		}
		for _, c := range then {
			r.do(step{command: c}, nil)
		}
		r.do(step{wait: lasting}, nil)
		require.NotContains(t, r.engine.limiter.catchingUp, true, "%v after the last change light is still held back", lasting.Sub(0))
	})
}
