package engine

import (
	"fmt"
	"slices"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// edited is a copy of a show whose songs, sections, looks and groups can be
// changed without the first one noticing.
func edited(p *Program) *Program {
	q := *p
	q.Songs, q.Looks, q.Groups = slices.Clone(p.Songs), slices.Clone(p.Looks), slices.Clone(p.Groups)
	for i := range q.Songs {
		s := &q.Songs[i]
		s.Sections, s.Cues, s.Variants = slices.Clone(s.Sections), slices.Clone(s.Cues), slices.Clone(s.Variants)
		for j := range s.Cues {
			s.Cues[j].Parts = slices.Clone(s.Cues[j].Parts)
		}
		for j := range s.Variants {
			s.Variants[j].Cues = slices.Clone(s.Variants[j].Cues)
		}
	}
	for i := range q.Looks {
		q.Looks[i].Parts = slices.Clone(q.Looks[i].Parts)
	}
	return &q
}

// lengthen makes a section longer, or shorter, and moves what follows.
func (s *Song) lengthen(section int, by clock.Beat) {
	end := s.Sections[section].Start + s.Sections[section].Length
	s.Sections[section].Length += by
	for i := range s.Sections[section+1:] {
		s.Sections[section+1+i].Start += by
	}
	move := func(cues []Cue) {
		for i := range cues {
			if cues[i].At >= end {
				cues[i].At += by
			}
		}
	}
	move(s.Cues)
	for i := range s.Variants {
		move(s.Variants[i].Cues)
	}
}

// dimmed takes the intensity of all that a cue sets to a share.
func dimmed(c *Cue, to float64) {
	for i := range c.Parts {
		c.Parts[i].Values[fixtures.Intensity] *= to
	}
}

// anyEdit draws what a person may do to the files: names that go, sections that
// grow, levels and colours that change.
func anyEdit(t *rapid.T, p *Program) *Program {
	q := edited(p)
	for range rapid.IntRange(1, 4).Draw(t, "edits") {
		song := &q.Songs[rapid.IntRange(0, len(q.Songs)-1).Draw(t, "song")]
		section := rapid.IntRange(0, len(song.Sections)-1).Draw(t, "section")
		look := &q.Looks[rapid.IntRange(0, len(q.Looks)-1).Draw(t, "look")]
		switch rapid.IntRange(0, 7).Draw(t, "edit") {
		case 0:
			song.Name += " again"
		case 1:
			song.Sections[section].Name += " again"
		case 2:
			look.Name += " again"
		case 3:
			q.Groups[rapid.IntRange(0, len(q.Groups)-1).Draw(t, "group")].Name += " again"
		case 4:
			song.lengthen(section, song.Meter.Bar())
		case 5:
			dimmed(look, 0.5)
			for i := range song.Cues {
				dimmed(&song.Cues[i], 0.5)
			}
		case 6:
			song.Palette[Main], song.Palette[Second] = song.Palette[Second], song.Palette[Main]
		case 7:
			song.Cues = song.Cues[:len(song.Cues)/2]
		}
	}
	return q
}

// Whatever is edited, the frame on the wire does not jump: the new show's first
// frame is the old one's last. Time goes on without a panic, and every level
// stays in its range.
func TestReloadDoesNotJump(t *testing.T) {
	base := *asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		p := anyHall(t, base)
		r := newRider(p)
		for _, s := range night(t, allKinds()...) {
			r.do(s, nil)
		}
		for range rapid.IntRange(1, 3).Draw(t, "reloads") {
			r.do(step{wait: clock.Second / 3}, nil)
			before, pos := r.engine.universes[0], r.clock.At(r.now)
			next := prepareReload(t, r.engine.prog, anyEdit(t, r.engine.prog))
			require.True(t, r.engine.Reload(next, pos), "not taken")
			after := r.engine.Frame(pos)[0]
			for i := range before.Slots {
				d := int(before.Slots[i]) - int(after.Slots[i])
				require.GreaterOrEqual(t, d, -1, "slot %d jumps from %d to %d", i+1, before.Slots[i], after.Slots[i])
				require.LessOrEqual(t, d, 1, "slot %d jumps from %d to %d", i+1, before.Slots[i], after.Slots[i])
			}
		}
		for _, s := range night(t, allKinds()...) {
			r.do(s, func([]dmx.Universe, clock.Position) {
				for h := range r.engine.sentLight {
					for q, v := range r.engine.sentLight[h] {
						if !(v >= 0 && v <= 1) {
							require.Fail(t, fmt.Sprintf("%s of head %d is %v", fixtures.Param(q), h, v))
						}
					}
				}
			})
		}
	})
}

// playing is a stage that plays Long Shore from its start up to a beat.
func playing(t *testing.T, p *Program, to clock.Beat) *stage {
	t.Helper()
	s := newStage(p)
	s.send(Command{Kind: SelectSong})
	s.transport("start", "")
	require.NoError(t, s.play(to))
	s.frame()
	return s
}

// reload takes an edit over and plays a frame.
func (s *stage) reload(t *testing.T, to *Program) {
	t.Helper()
	require.True(t, s.engine.Reload(prepareReload(t, s.engine.prog, to), s.pos), "not taken")
	s.frame()
}

// A verse that is made two bars longer while the chorus after it is played does
// not move the chorus: bar and beat stay, and the bridge comes when it would
// have come.
func TestReloadKeepsThePlace(t *testing.T) {
	p := hall(t)
	s, twin := playing(t, p, 29*quarter), playing(t, p, 29*quarter)
	to := edited(p)
	to.Songs[0].lengthen(1, 8*quarter)
	s.reload(t, to)
	st := s.engine.Status(s.pos)
	assert.EqualValues(t, 2, st.Section, "in its first pass")
	assert.Equal(t, 37*quarter, st.Beat, "in its first pass")
	assert.Equal(t, 1, st.Pass, "in its first pass")
	assert.Zero(t, st.Lost, "in its first pass")
	for _, to := range []clock.Beat{31 * quarter, 38 * quarter, 41 * quarter, 58 * quarter, 83 * quarter} {
		for _, s := range []*stage{s, twin} {
			require.NoError(t, s.play(to))
			s.frame()
		}
		assert.Equal(t, twin.engine.universes[0], s.engine.universes[0], "beat %v: % x, without the edit % x", to.Quarters(), s.engine.universes[0].Slots[:14], twin.engine.universes[0].Slots[:14])
	}
}

// What is armed stays armed for its moment; for the end of a section it is the
// end as it is now.
func TestReloadKeepsWhatIsArmed(t *testing.T) {
	p := hall(t)
	for when, want := range map[When]clock.Beat{NextBar: 32 * quarter, SectionEnd: 44 * quarter} {
		s := playing(t, p, 29*quarter)
		s.send(Command{Kind: ArmSection, Index: 4, When: when})
		to := edited(p)
		to.Songs[0].lengthen(0, 4*quarter) // the intro
		to.Songs[0].lengthen(2, 4*quarter) // the chorus that is played
		s.reload(t, to)
		for s.pos.Beat < want-1 {
			require.EqualValues(t, 4, s.engine.play.armed.section, "%v: entered at %v", when, s.pos.Beat.Quarters())
			s.move(0, min(quarter/4, want-1-s.pos.Beat))
			s.frame()
		}
		s.move(0, 1)
		s.frame()
		st := s.engine.Status(s.pos)
		assert.EqualValues(t, 4, st.Section, when)
		assert.Equal(t, to.Songs[0].Sections[4].Start, st.Beat, when)
	}
}

// When what is played has gone from the files, the light stays, effects and
// all, until something else is asked for; that is counted once.
func TestReloadLosesWhatIsPlayed(t *testing.T) {
	for name, lose := range map[string]func(q *Program){
		"song":    func(q *Program) { q.Songs[0].Name = "Another" },
		"section": func(q *Program) { q.Songs[0].Sections[2].Name = "refrain" },
		"cues":    func(q *Program) { q.Songs[0].Cues = nil },
	} {
		t.Run(name, func(t *testing.T) {
			p := hall(t)
			s, twin := playing(t, p, 29*quarter), playing(t, p, 29*quarter)
			to := edited(p)
			lose(to)
			s.reload(t, to)
			assert.Equal(t, map[string]uint64{"song": 1, "section": 1}[name], s.engine.lost)
			for _, st := range []*stage{s, twin} {
				require.NoError(t, st.play(33*quarter))
				st.frame()
			}
			assert.Equal(t, twin.engine.universes[0], s.engine.universes[0], "% x, without the edit % x", s.engine.universes[0].Slots[:14], twin.engine.universes[0].Slots[:14])
			if name == "cues" {
				return // the plan has nothing more
			}
			if name == "song" {
				s.send(Command{Kind: SelectSong})
			}
			s.send(Command{Kind: FireSection, Index: 3})
			s.pass(3 * clock.Second)
			st := s.engine.Status(s.pos)
			assert.Equal(t, "glow", st.Look, "after the bridge was fired")
			assert.EqualValues(t, 3, st.Section, "after the bridge was fired")
		})
	}
}

// A section that is gone is stayed in up to where the next one would have begun.
func TestReloadGoesOnWithThePlan(t *testing.T) {
	p := hall(t)
	s := playing(t, p, 29*quarter)
	to := edited(p)
	song := &to.Songs[0]
	song.lengthen(2, -16*quarter)
	song.Sections = slices.Delete(song.Sections, 2, 3)
	song.Cues = slices.Delete(song.Cues, 2, 4) // its cues
	s.reload(t, to)
	require.NoError(t, s.play(40*quarter-1))
	assert.Equal(t, "full", s.engine.Status(s.pos).Look, "before the bridge")
	s.move(0, 1)
	s.frame()
	st := s.engine.Status(s.pos)
	assert.Equal(t, "glow", st.Look, "at the bridge")
	assert.Equal(t, 24*quarter, st.Beat, "at the bridge")
	assert.Equal(t, "bridge", song.Sections[st.Section].Name, "at the bridge")
}

// Masters, overrides, hold and blackout stay. A group's master holds though the
// files have another name for the group.
func TestReloadKeepsHands(t *testing.T) {
	p := hall(t)
	s := playing(t, p, 29*quarter)
	s.send(Command{Kind: GroupMaster, Index: 0, Level: 0.5})
	s.send(Command{Kind: Override, Index: 2, Param: fixtures.Intensity, Level: 1})
	s.pass(clock.Second)
	before := s.engine.universes[0]
	to := edited(p)
	to.Groups[0].Name = "floods"
	slices.Reverse(to.Groups)
	s.reload(t, to)
	assert.Equal(t, before, s.engine.universes[0], "% x, before % x", s.engine.universes[0].Slots[:14], before.Slots[:14])
	assert.Equal(t, "front", s.engine.prog.Groups[s.engine.overrides.list[0].group].Name, "the override holds")
	s.send(Command{Kind: Hold})
	s.send(Command{Kind: Blackout})
	s.frame()
	black := s.engine.universes[0]
	dim := edited(s.engine.prog)
	for i := range dim.Songs[0].Cues {
		dimmed(&dim.Songs[0].Cues[i], 0.25)
	}
	s.reload(t, dim)
	s.pass(5 * clock.Second)
	st := s.engine.Status(s.pos)
	assert.True(t, st.Held, "%+v: % x, want % x", st, s.engine.universes[0].Slots[:14], black.Slots[:14])
	assert.True(t, st.Blackout, "%+v: % x, want % x", st, s.engine.universes[0].Slots[:14], black.Slots[:14])
	assert.Equal(t, black, s.engine.universes[0], "%+v: % x, want % x", st, s.engine.universes[0].Slots[:14], black.Slots[:14])
}

// A level that was edited is gone to over a second, without a jump.
func TestReloadIsBridged(t *testing.T) {
	p := hall(t)
	s := newStage(p)
	s.pass(5 * clock.Second)
	require.NotZero(t, s.engine.universes[0].Slots[10], "the front is dark in the walk-in")
	was := float64(s.engine.universes[0].Slots[10])
	to := edited(p)
	dimmed(&to.Looks[p.WalkIn], 0.5)
	s.reload(t, to)
	for _, c := range []struct {
		at   clock.Time
		want float64
	}{{0, was}, {clock.Second / 2, was * 0.75}, {clock.Second / 2, was / 2}, {clock.Second, was / 2}} {
		s.pass(c.at)
		assert.InDelta(t, c.want, float64(s.engine.universes[0].Slots[10]), 1, "the front")
	}
}

// A second edit while the first is still being gone to starts from where the
// light is, not from further off.
func TestReloadFollowEachOther(t *testing.T) {
	p := hall(t)
	s := newStage(p)
	s.pass(5 * clock.Second)
	was := float64(s.engine.universes[0].Slots[10])
	dim := edited(p)
	dimmed(&dim.Looks[p.WalkIn], 0.5)
	s.reload(t, dim)
	s.pass(clock.Second / 2) // at three quarters
	dimmer := edited(dim)
	dimmed(&dimmer.Looks[p.WalkIn], 0.5)
	s.reload(t, dimmer) // to a quarter
	for _, c := range []struct {
		at   clock.Time
		want float64
	}{{0, 0.75}, {clock.Second / 4, 0.625}, {clock.Second / 4, 0.5}, {clock.Second / 2, 0.25}, {clock.Second, 0.25}} {
		s.pass(c.at)
		assert.InDelta(t, was*c.want, float64(s.engine.universes[0].Slots[10]), 1, "the front")
	}
}

// The patch is not changed live, and what has changed is said.
func TestReloadRefusesAnotherPatch(t *testing.T) {
	p := hall(t)
	with := func(change func(at []fixtures.Placement) []fixtures.Placement) *Program {
		q := edited(p)
		patch, err := fixtures.NewPatch(1, change(slices.Clone(p.Patch.Placements())))
		require.NoError(t, err)
		q.Patch = patch
		return q
	}
	for want, q := range map[string]*Program{
		`"hazer" has another address`: with(func(at []fixtures.Placement) []fixtures.Placement { at[hazer].Address = 101; return at }),
		`"hazer" is gone`:             with(func(at []fixtures.Placement) []fixtures.Placement { return at[:hazer] }),
		`"mist" is new`:               with(func(at []fixtures.Placement) []fixtures.Placement { at[hazer].Name = "mist"; return at }),
		"universes":                   func() *Program { q := edited(p); q.Universes = []string{"other"}; return q }(),
	} {
		_, err := NewReload(p, q)
		assert.ErrorIs(t, err, ErrRestart)
		assert.ErrorContains(t, err, want)
	}
}

// A reload of another program than the one played is not taken.
func TestReloadOfAnotherIsNotTaken(t *testing.T) {
	p := hall(t)
	s := newStage(p)
	other := edited(p)
	assert.False(t, s.engine.Reload(prepareReload(t, other, edited(other)), s.pos), "taken")
	assert.Same(t, p, s.engine.prog, "taken")
}

// Taking a reload touches no heap, however many heads there are.
func TestReloadAllocatesNothing(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates; make quiet runs this without it")
	}
	for name, p := range map[string]*Program{"hall": asPlayed(t), "200 heads": rigOf(t, 200, 2)} {
		t.Run(name, func(t *testing.T) {
			s := playing(t, p, 29*quarter)
			s.send(Command{Kind: Override, Index: 2, Param: fixtures.Intensity, Level: 1})
			var next []*Reload
			for range 22 {
				to := edited(p)
				to.Songs[0].lengthen(1, 4*quarter)
				dimmed(&to.Songs[0].Cues[2], 0.9)
				next = append(next, prepareReload(t, p, to))
				p = to
			}
			assert.Zero(t, testing.AllocsPerRun(20, func() {
				if !s.engine.Reload(next[0], s.pos) {
					require.Fail(t, "not taken")
				}
				next = next[1:]
				s.engine.Frame(s.pos)
			}), "allocations")
		})
	}
}

// The loop takes a reload between two frames: what came before it in the
// channel means the old show, what comes after it the new. No frame is missed,
// and a tempo that was tapped stays unless the song's was edited.
func TestLoopTakesAReload(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := hall(t)
		r := &recorder{}
		g := play(t, func(c *LoopConfig) { c.Engine = New(p) }, r)
		g.command(Command{Kind: SelectSong, Index: 1})
		g.until(clock.Second / 10)
		g.input <- Input{Event: clock.Event{At: g.base.Now(), Kind: clock.SetTempo, Tempo: clock.BPM(90)}}
		to := shuffled(t, p)
		g.command(Command{Kind: Hold})
		g.input <- Input{Reload: prepareReload(t, p, to)}
		g.command(Command{Kind: ShowLook, Index: int32(len(to.Looks) - 1)}) // the old show's first
		g.until(clock.Second)
		s := g.snapshot()
		assert.Same(t, to, s.Program)
		assert.True(t, s.Status.Held)
		assert.Equal(t, p.Looks[0].Name, s.Status.Look)
		assert.Zero(t, s.Health.Missed)
		assert.EqualValues(t, 45, s.Health.Frames)
		g.command(Command{Kind: SelectSong, Index: 2}) // the same song
		g.until(clock.Second * 2)
		g.input <- Input{Event: clock.Event{At: g.base.Now(), Kind: clock.SetTempo, Tempo: clock.BPM(90)}}
		g.until(clock.Second * 3)
		same := edited(to)
		g.input <- Input{Reload: prepareReload(t, to, same)}
		g.until(clock.Second * 4)
		got := g.snapshot().Pos.Tempo
		assert.Equal(t, clock.BPM(90), got, "tempo %v", got.BPM())
		faster := edited(same)
		faster.Songs[2].Tempo = clock.BPM(150)
		g.input <- Input{Reload: prepareReload(t, same, faster)}
		g.until(clock.Second * 5)
		s = g.snapshot()
		assert.Equal(t, clock.BPM(150), s.Pos.Tempo, "tempo %v", s.Pos.Tempo.BPM())
		assert.Same(t, faster, s.Program, "tempo %v", s.Pos.Tempo.BPM())
		assert.NoError(t, g.end())
	})
}
