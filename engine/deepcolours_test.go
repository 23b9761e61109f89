package engine

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// deepHall is the hall with washes that mix colours, each of another type: wash 1 of red,
// green and blue, wash 2 of white too. Looks and effects stay.
func deepHall(t testing.TB) *Program {
	t.Helper()
	p := hall(t)
	at := slices.Clone(p.Patch.Placements())
	for i, params := range [][]fixtures.Param{{fixtures.Red, fixtures.Green, fixtures.Blue}, {fixtures.Red, fixtures.Green, fixtures.Blue, fixtures.White}} {
		var channels []fixtures.Channel
		profile := &fixtures.Profile{Heads: 1, White: fixtures.WhiteOf(5600, 0)}
		for _, q := range params {
			channels = append(channels, fixtures.Channel{Param: q})
			profile.Emitters = append(profile.Emitters, fixtures.Typical(q))
		}
		profile.Channels = channels
		at[i].Profile, at[i].Address = profile, 101+10*i
	}
	patch, err := fixtures.NewPatch(1, at)
	require.NoError(t, err)
	p.Patch = patch
	return p
}

// emitted is the light of a wash, from the slots that are sent and its emitters.
func emitted(p *Program, wash int, u *dmx.Universe) fixtures.RGB {
	m := p.Patch.Mixer(wash)
	var l fixtures.Levels
	for i := range m.Emitters() {
		l[i] = float64(u.Slots[100+10*wash+i]) / 255
	}
	return m.Light(&l)
}

// bright are the deep colours of the roles given.
func bright(roles ...Role) (d DeepColours) {
	for _, r := range roles {
		d.Roles[r] = true
	}
	return d
}

// A song's roles go by the song's setting, looks outside songs by the house's. Matched
// colours are the same slots as ever; bright ones are as bright as each type can.
func TestDeepColoursByRole(t *testing.T) {
	p := deepHall(t)
	slots := func(p *Program, song bool) dmx.Universe {
		s := newStage(p)
		if song {
			s = playing(t, p, 9*quarter) // the verse: washes in second, blue
			s.pass(4 * clock.Second)
		} else {
			s.send(Command{Kind: ShowLook, Index: p.Talk}) // second, blue
			s.pass(5 * clock.Second)
		}
		return s.engine.universes[0]
	}
	for _, song := range []bool{true, false} {
		matched := slots(p, song)
		for _, c := range []struct {
			name        string
			house, song DeepColours
			raised      bool
		}{
			{"nothing", DeepColours{}, DeepColours{}, false},
			{"the house's", bright(Second), DeepColours{}, !song},
			{"the song's", DeepColours{}, bright(Second), song},
			{"other roles", bright(Main, Accent, Warm), bright(Main, Accent, Warm), false},
			{"colours without a role", DeepColours{Fixed: true}, DeepColours{Fixed: true}, false},
		} {
			q := *p
			q.Songs = slices.Clone(p.Songs)
			q.HouseDeep, q.Songs[0].Deep = c.house, c.song
			got := slots(&q, song)
			if !c.raised {
				assert.Equal(t, matched, got, "%s, in a song: %v", c.name, song)
				continue
			}
			for wash := range 2 {
				gain := p.Patch.Mixer(wash).DeepGain(fixtures.RGB{0, 0, 1})
				assert.Greater(t, gain, 3.0)
				a, b := emitted(p, wash, &matched), emitted(p, wash, &got)
				assert.InDelta(t, gain, b[2]/a[2], 0.05*gain, "%s: wash %d, blue", c.name, wash+1)
				if song {
					assert.EqualValues(t, 255, got.Slots[102+10*wash], "%s: wash %d uses its whole blue", c.name, wash+1)
				}
			}
		}
	}
	assert.True(t, (&DeepColours{Fixed: true}).has(Colour{Fixed: true}))
	assert.False(t, (&DeepColours{Fixed: true}).has(Colour{Role: Second}))
}

// everyDeep makes all colours of a program bright.
func everyDeep(p *Program) *Program {
	q := *p
	all := bright(Main, Second, Accent, Warm)
	all.Fixed = true
	q.HouseDeep, q.Songs = all, slices.Clone(p.Songs)
	for i := range q.Songs {
		q.Songs[i].Deep = all
	}
	return &q
}

// The light that is measured is the light that leaves: what flash.Head.Light says of the
// states is what the emitters give at the slots that are sent, to the rounding of bytes.
// Through fades, colour waves, masters, overrides of a colour, a hold and flashing light.
func TestMeasuredLightIsTheLightThatLeaves(t *testing.T) {
	p := everyDeep(deepHall(t))
	p.Effects = slices.Clone(p.Effects)
	for _, blend := range []Blend{Replace, Add, Scale, Highest, Swing} {
		p.Effects[tint].Blend = blend
		for _, period := range []Length{{1, 1, true}, {1, 4, false}} {
			p.Effects[tint].Period = period
			s := playing(t, p, 1*quarter)
			heads := flash.Heads(p.Patch)
			above, frames := 0, 0
			look := func() {
				for wash := range 2 {
					state := s.engine.SentLight()[wash]
					said, left := heads[wash].Light(&state), emitted(p, wash, &s.engine.universes[0])
					frames++
					if max(said[0], said[1], said[2]) > 1 {
						above++
					}
					reach := p.Patch.Mixer(wash).Reach(state.Colour())
					require.LessOrEqual(t, max(state[fixtures.Red], state[fixtures.Green], state[fixtures.Blue]), max(1, reach)+1e-9, "%s, wash %d at %s: a state that cannot be shown", blend, wash+1, s.place())
					for i := range said {
						require.InDelta(t, left[i], said[i], 0.03, "%s, wash %d at %s: %v", blend, wash+1, s.place(), state.Colour())
					}
				}
			}
			for i := range 300 {
				switch i {
				case 100:
					s.send(Command{Kind: FireSection, Index: 3}) // the bridge, later with the tint
				case 180:
					s.send(Command{Kind: GrandMaster, Level: 0.5})
				case 200:
					s.send(Command{Kind: Override, Index: 0, Param: fixtures.Red, Level: 1})
				case 230:
					s.send(Command{Kind: Hold})
				case 250:
					s.send(Command{Kind: Release})
				case 270:
					s.send(Command{Kind: Blackout})
				}
				s.pass(clock.Second / 15)
				look()
			}
			assert.Greater(t, above, 20, "frames with light that matched colours do not have")
			assert.Equal(t, 600, frames)
		}
	}
}

// Pure blue, matched, is too dim to count as a flash: 7 % of white on its own. Bright it is
// a quarter of white, and the limiter counts it and holds it back.
func TestBrightBlueCountsAsAFlash(t *testing.T) {
	p := deepHall(t)
	p.Songs = slices.Clone(p.Songs)
	p.HousePalette[Main] = fixtures.RGB{0, 0, 1}
	p.Effects = []Effect{{
		Heads: washes, Offsets: make([]clock.Phase, len(washes)), Wave: Wave{Kind: Square, High: 1, Duty: 0.5, Skew: 0.5},
		Period: Length{Num: 1, Den: 4}, Pulses: 1, Depth: 1, Blend: Scale, Param: fixtures.Intensity,
	}}
	p.Looks = []Cue{named("blink", with(cue(seconds(0), level(washes, 1, Main)), 0))}
	p.WalkIn, p.WalkOut, p.Talk, p.Songs, p.SetList = 0, None, None, nil, nil
	rate := func(p *Program) (wanted, let float64, acting bool) {
		s := newStage(p)
		s.transport("start", "") // effects run with the music
		for range 60 {
			s.pass(clock.Second / 20)
			a := s.engine.FlashArea(0)
			wanted, let = max(wanted, a.Wanted.Rate(s.pos.At)[flash.General]), max(let, a.LetThrough.Rate(s.pos.At)[flash.General])
			acting = acting || s.engine.limiter.status.Acting
		}
		return wanted, let, acting
	}
	wanted, _, acting := rate(p)
	assert.Zero(t, wanted, "matched blue counts")
	assert.False(t, acting)
	wanted, let, acting := rate(everyDeep(p))
	assert.Greater(t, wanted, 5.0, "bright blue, 8 times a second")
	assert.LessOrEqual(t, let, float64(flash.PerSecond))
	assert.True(t, acting)
}

// An edit of the setting while the show runs is bridged, both ways, without a jump.
func TestReloadOfDeepColoursDoesNotJump(t *testing.T) {
	for _, on := range []bool{true, false} {
		from, to := deepHall(t), everyDeep(deepHall(t))
		if !on {
			from, to = to, from
		}
		s := playing(t, from, 12*quarter) // blue
		before := emitted(from, 0, &s.engine.universes[0])
		s.reload(t, to)
		after := emitted(to, 0, &s.engine.universes[0])
		assert.InDelta(t, before[2], after[2], 0.02, "the first frame")
		s.send(Command{Kind: ShowLook, Index: 2}) // a new cue has the new setting
		s.pass(5 * clock.Second)
		want := 0.2
		if on {
			want *= to.Patch.Mixer(0).DeepGain(fixtures.RGB{0, 0, 1})
		}
		assert.InDelta(t, want, emitted(to, 0, &s.engine.universes[0])[2], 0.02, "the talk look, 20 %% of blue")
	}
}

// A cue that an edit takes away goes on in the colours that it had, its colour wave too.
func TestLostCueKeepsItsDeepColours(t *testing.T) {
	p := everyDeep(deepHall(t))
	s, twin := playing(t, p, 52*quarter), playing(t, p, 52*quarter) // the bridge with the tint
	to := deepHall(t)
	to.Songs[0].Name = "Another"
	s.reload(t, to)
	for range 8 {
		for _, st := range []*stage{s, twin} {
			require.NoError(t, st.play(st.pos.Beat+quarter/4))
		}
		assert.Equal(t, twin.engine.universes[0], s.engine.universes[0], "at %s", s.place())
	}
	assert.Greater(t, s.engine.SentLight()[0][fixtures.Blue]+s.engine.SentLight()[0][fixtures.Red], 1.2, "the tint is bright")
}

// In a colour wave each head has the colours of its own type.
func TestColourWavesByType(t *testing.T) {
	p := deepHall(t)
	roles := roleColours{&Palette{Main: {0, 0, 1}, Second: {0, 0, 1}}, bright(Main, Second), p.Patch}
	e := Effect{
		Heads: []int32{0, 1, 0}, Offsets: make([]clock.Phase, 3), Wave: Wave{Kind: Sine, High: 1, Skew: 0.5}, Period: Length{Num: 1, Den: 1}, Pulses: 1,
		Depth: 1, Blend: Replace, MovesColour: true, From: Colour{Role: Main}, To: Colour{Role: Second},
	}
	light := make([]fixtures.State, len(p.Heads))
	e.apply(light, clock.Quarter/3, common, &roles, 1)
	for wash := range 2 {
		assert.InDelta(t, p.Patch.Mixer(wash).DeepGain(fixtures.RGB{0, 0, 1}), light[wash][fixtures.Blue], 1e-6, "wash %d", wash+1)
	}
	assert.NotEqual(t, light[0][fixtures.Blue], light[1][fixtures.Blue])
}

// Blends leave a component above 1 as it is where they would leave 1, and reach no further
// than the brighter of the look and the wave.
func TestBlendsOfBrightColours(t *testing.T) {
	for _, c := range []struct {
		blend          Blend
		v, w, d, wants float64
	}{
		{Add, 3, 0, 1, 3},
		{Add, 3, 1, 1, 3},
		{Add, 0.5, 3, 1, 3},
		{Add, 0.5, 3, 0.5, 2},
		{Scale, 3, 1, 1, 3},
		{Scale, 3, 0.5, 1, 1.5},
		{Replace, 3, 1, 0.5, 2},
		{Highest, 3, 2, 1, 3},
		{Highest, 1, 2, 1, 2},
		{Swing, 3, 0.5, 1, 3},
		{Swing, 3, 1, 1, 3},
		{Swing, 3, 0, 1, 2.5},
	} {
		assert.InDelta(t, c.wants, c.blend.Apply(c.v, c.w, c.d), 1e-12, "%s of %v and %v, depth %v", c.blend, c.v, c.w, c.d)
	}
}

// A head that was held back catches up in the same time in bright blue as in white.
func TestCatchingUpOfBrightColours(t *testing.T) {
	p := deepHall(t)
	gain := p.Patch.Mixer(0).DeepGain(fixtures.RGB{0, 0, 1})
	for _, c := range []fixtures.RGB{{1, 1, 1}, {0, 0, gain}} {
		m := newLimiter(p)
		m.started, m.catchingUp[0] = true, true
		lit := make([]fixtures.State, len(p.Heads))
		lit[0][fixtures.Intensity] = 1
		lit[0].SetColour(c)
		m.findWanted(lit, p.Heads, catchUp/2)
		assert.InDelta(t, 0.5, m.share[0], 1e-9, "%v", c)
	}
}

// Tables for bright colours are made before frames need them: with the engine, or while an
// edit is prepared; and never for a show that has none.
func TestBrightTablesAreMadeAhead(t *testing.T) {
	matched, deep, next := deepHall(t), everyDeep(deepHall(t)), deepHall(t)
	New(matched)
	assert.False(t, matched.Patch.IsBrightPrepared())
	New(deep)
	assert.True(t, deep.Patch.IsBrightPrepared())
	_, err := NewReload(deep, next)
	require.NoError(t, err)
	assert.True(t, next.Patch.IsBrightPrepared(), "the light before the edit may be bright")
	s := playing(t, matched, 60*quarter)
	s.send(Command{Kind: Override, Index: 0, Param: fixtures.Blue, Level: 1})
	s.pass(clock.Second)
	assert.False(t, matched.Patch.IsBrightPrepared())
}

func TestDeepColoursWithoutHeap(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates")
	}
	p := everyDeep(deepHall(t))
	s := playing(t, p, 1*quarter)
	n := int32(0)
	assert.Zero(t, testing.AllocsPerRun(300, func() {
		n++
		s.send(Command{Kind: FireSection, Index: n % 7})
		s.move(clock.Second/44, clock.Quarter/22)
		s.engine.Frame(s.pos)
	}), "allocations a frame")
}
