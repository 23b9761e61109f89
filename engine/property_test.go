package engine

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// rider drives an engine from a clock.Transport as the loop does: events and
// commands at their moments, a frame each 44th of a second.
type rider struct {
	engine *Engine
	clock  *clock.Transport
	now    clock.Time
	tick   clock.Time // when the next MIDI tick comes
	period clock.Time // between ticks; 0: none come
}

func newRider(p *Program) *rider {
	return &rider{engine: New(p), clock: clock.NewTransport(clock.Config{}), now: clock.Second}
}

// step is one thing that happens, after a while.
type step struct {
	wait    clock.Time
	event   clock.Event
	command Command
	levels  *InputLevels // nil: none come
	bpm     float64      // above 0: ticks come at this tempo from now on; below: none
	reload  *Reload      // for a loop alone; nil: none comes
}

// do lets a step happen. each sees every frame.
func (r *rider) do(s step, each func(u []dmx.Universe, pos clock.Position)) {
	for end := r.now + s.wait; r.now < end; {
		r.now = min(end, r.now+clock.Second/44)
		for r.period > 0 && r.tick <= r.now {
			r.clock.Handle(clock.Event{At: r.tick, Kind: clock.Tick24})
			r.tick += r.period
		}
		r.frame(each)
	}
	if s.bpm > 0 {
		r.tick, r.period = r.now, clock.Time(60/s.bpm/24*float64(clock.Second))
	} else if s.bpm < 0 {
		r.period = 0
	}
	if s.event.Kind != 0 {
		s.event.At = r.now
		r.clock.Handle(s.event)
	}
	if s.command.Kind != 0 {
		r.engine.Do(s.command, r.clock.At(r.now))
	}
	if s.levels != nil {
		levels := *s.levels
		r.engine.TakeLevels(&levels, r.clock.At(r.now))
	}
	r.frame(each)
}

func (r *rider) frame(each func(u []dmx.Universe, pos clock.Position)) {
	pos := r.clock.At(r.now)
	u := r.engine.Frame(pos)
	if each != nil {
		each(u, pos)
	}
}

// commands draws what a person or a DAW may ask for, sense or nonsense.
func commands(kinds ...CommandKind) *rapid.Generator[Command] {
	return rapid.Custom(func(t *rapid.T) Command {
		return Command{
			Kind:  rapid.SampledFrom(kinds).Draw(t, "kind"),
			When:  When(rapid.IntRange(0, int(numWhen)).Draw(t, "when")),
			Param: fixtures.Param(rapid.IntRange(0, int(fixtures.NumParams)).Draw(t, "param")),
			Bars:  rapid.SampledFrom([]uint8{0, 1, 3, 255}).Draw(t, "bars"),
			For:   rapid.SampledFrom([]clock.Time{0, clock.Second, -clock.Second}).Draw(t, "for"),
			Index: rapid.SampledFrom([]int32{-1, 0, 1, 2, 3, 4, 5, 6, 60, 61, 62, 63, 64, 99, 128, math.MaxInt32}).Draw(t, "index"),
			Level: rapid.SampledFrom([]float64{0, 0.3, 1, -1, 2, math.NaN(), math.Inf(1)}).Draw(t, "level"),
			Over:  rapid.SampledFrom([]clock.Time{0, clock.Millisecond, clock.Second, -clock.Second}).Draw(t, "over"),
		}
	})
}

// all but 0 and one beyond the last, which there is not.
func allKinds() (kinds []CommandKind) {
	for k := SelectSong; k <= NumCommands; k++ {
		kinds = append(kinds, k)
	}
	return kinds
}

// operators are the commands by which a person moves kept heads.
func operators() []CommandKind {
	return []CommandKind{
		ShowLook, ShowWalkIn, ShowWalkOut, ShowTalk, ShowPad, Hold, Release, Blackout, Restore, GrandMaster, GroupMaster,
		HouseUp, HouseHalf, HouseOut, HouseFree, Override, ReleaseOverride, WorkLight, WorkLightOff,
	}
}

func without(kinds []CommandKind, not ...CommandKind) []CommandKind {
	return slices.DeleteFunc(slices.Clone(kinds), func(k CommandKind) bool { return slices.Contains(not, k) })
}

// steps draws a night: transport, tempo and the given kinds of command.
func steps(kinds ...CommandKind) *rapid.Generator[step] {
	waits := []clock.Time{0, clock.Millisecond, 20 * clock.Millisecond, 300 * clock.Millisecond, 2 * clock.Second, 5 * clock.Second}
	return rapid.Custom(func(t *rapid.T) step {
		s := step{wait: rapid.SampledFrom(waits).Draw(t, "wait")}
		last := 5
		if slices.Contains(kinds, Override) { // operators act
			last = 6
		}
		switch rapid.IntRange(0, last).Draw(t, "what") {
		case 0:
			s.bpm = rapid.SampledFrom([]float64{-1, 40, 90, 120, 121.5, 240}).Draw(t, "bpm")
		case 1, 2:
			s.event.Kind = rapid.SampledFrom([]clock.Kind{
				clock.Start, clock.Stop, clock.Continue, clock.Locate, clock.Tap, clock.SetTempo, clock.Lost,
			}).Draw(t, "event")
			s.event.Sixteenths = rapid.Int32Range(0, 400).Draw(t, "sixteenths")
			s.event.Tempo = clock.BPM(rapid.Float64Range(40, 240).Draw(t, "tempo"))
		case 6:
			s.levels = anyLevels(t)
		default:
			s.command = commands(kinds...).Draw(t, "command")
		}
		return s
	})
}

// anyLevels draws what may come of a level input, also of one that there is not.
func anyLevels(t *rapid.T) *InputLevels {
	l := &InputLevels{
		Input: rapid.SampledFrom([]int32{0, 0, 0, 1, 1, 1, 2, -1, math.MaxInt32}).Draw(t, "input"), Present: rapid.IntRange(0, 3).Draw(t, "present") > 0,
		Changed: AllSlots(),
	}
	for _, slot := range []int{1, 3, 4, 512} {
		l.Levels[slot-1] = rapid.SampledFrom([]byte{0, 1, 2, 100, 254, 255}).Draw(t, "level")
	}
	return l
}

func night(t *rapid.T, kinds ...CommandKind) []step {
	return rapid.SliceOfN(steps(kinds...), 1, 30).Draw(t, "night")
}

// anyHall draws the hall with the settings that a show may have.
func anyHall(t *rapid.T, p Program) *Program {
	p.RunsOn = rapid.Bool().Draw(t, "runs on")
	p.EffectsStop = rapid.Bool().Draw(t, "settle")
	p.ReleaseFade = rapid.SampledFrom([]clock.Time{0, clock.Second}).Draw(t, "unheld")
	if rapid.IntRange(0, 9).Draw(t, "walk-in") == 0 {
		p.WalkIn, p.WalkOut, p.SetList = None, None, nil
	}
	if rapid.Bool().Draw(t, "builds") {
		p.Songs = withBuilds(p.Songs)
	}
	return &p
}

// Whatever happens: no panic, every level a number from 0 to 1, equal nights
// give equal bytes, blackout is dark but for what is spared, a held light
// stands still.
func TestAnyNight(t *testing.T) {
	base := *asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		p := anyHall(t, base)
		a, b := newRider(p), newRider(p)
		var first []dmx.Universe
		var held []fixtures.State
		check := func(u []dmx.Universe, pos clock.Position) {
			first = append(first, u[0])
			e := a.engine
			for h := range e.sentLight {
				for q, v := range e.sentLight[h] {
					if !(v >= 0 && v <= 1) {
						require.Fail(t, fmt.Sprintf("%s of %s is %v", fixtures.Param(q), p.Heads[h].Name, v))
					}
				}
				if e.masters.blackout && e.workFade.levelAt(pos.At) == 0 && !p.Heads[h].Spared {
					require.Zero(t, e.sentLight[h][fixtures.Intensity], "%s is at %v in a blackout", p.Heads[h].Name, e.sentLight[h][fixtures.Intensity])
				}
			}
			if e.masters.blackout && e.workFade.levelAt(pos.At) == 0 {
				if lit := slices.IndexFunc(u[0].Slots[:11], func(s byte) bool { return s != 0 }); lit >= 0 {
					require.Fail(t, fmt.Sprintf("slot %d is %d in a blackout", lit+1, u[0].Slots[lit]))
				}
			}
			switch {
			case !e.held:
				held = nil
			case held == nil:
				held = slices.Clone(e.showLight)
			case !slices.Equal(held, e.showLight):
				require.Fail(t, fmt.Sprintf("the held light moved from %v to %v", held, e.showLight))
			}
		}
		script := night(t, allKinds()...)
		for _, s := range script {
			a.do(s, check)
		}
		n := 0
		for _, s := range script {
			b.do(s, func(u []dmx.Universe, _ clock.Position) {
				if u[0] != first[n] {
					require.Fail(t, fmt.Sprintf("frame %d differs when the same night is played again", n))
				}
				n++
			})
		}
	})
}

// Hold freezes the bytes, masters aside, until it is released.
func TestHoldFreezesTheBytes(t *testing.T) {
	base := *asPlayed(t)
	kinds := without(allKinds(), Hold, Release, Blackout, Restore, GrandMaster, GroupMaster,
		HouseUp, HouseHalf, HouseOut, HouseFree, Override, ReleaseOverride, WorkLight, WorkLightOff)
	rapid.Check(t, func(t *rapid.T) {
		r := newRider(anyHall(t, base))
		for _, s := range night(t, kinds...) {
			r.do(s, nil)
		}
		held := r.engine.universes[0]
		r.do(step{command: Command{Kind: Hold}}, nil)
		for _, s := range night(t, kinds...) {
			r.do(s, func(u []dmx.Universe, pos clock.Position) {
				if u[0] != held {
					require.Fail(t, fmt.Sprintf("at %v the held frame moved", pos.At.Sub(0)))
				}
			})
		}
	})
}

// Kept heads stay as they are unless a cue names them.
func TestKeptHeadsStay(t *testing.T) {
	base := *hall(t)
	base.Songs = slices.Clone(base.Songs)
	for i := range base.Songs { // nobody names the front light in this show
		base.Songs[i].Cues = slices.Clone(base.Songs[i].Cues)
		for j := range base.Songs[i].Cues {
			c := &base.Songs[i].Cues[j]
			c.Parts = slices.DeleteFunc(slices.Clone(c.Parts), func(p Part) bool { return slices.Contains(p.Heads, front) })
		}
	}
	kinds := without(allKinds(), operators()...)
	rapid.Check(t, func(t *rapid.T) {
		p := anyHall(t, base)
		p.WalkIn = 0
		r := newRider(p)
		r.do(step{}, nil)
		kept := slices.Clone(r.engine.universes[0].Slots[10:14])
		for _, s := range night(t, kinds...) {
			r.do(s, func(u []dmx.Universe, pos clock.Position) {
				got := u[0].Slots[10:14]
				require.True(t, slices.Equal(got, kept), "at %v front, house and haze are % x, were % x", pos.At.Sub(0), got, kept)
			})
		}
	})
}

// Once fades have settled, jumping to a beat and playing up to it come to the
// same light.
func TestJumpingIsLikePlaying(t *testing.T) {
	base := hall(t)
	rapid.Check(t, func(t *rapid.T) {
		song := rapid.Int32Range(0, int32(len(base.Songs)-1)).Draw(t, "song")
		s := &base.Songs[song]
		beatOf := func(name string) clock.Beat {
			return clock.Beat(rapid.Int64Range(0, int64(s.Length()/clock.Sixteenth)).Draw(t, name)) * clock.Sixteenth
		}
		to := beatOf("to")
		const settle = 8 * clock.Quarter // dusk's 8 beats at most, at one tempo
		played, jumped := newStage(base), newStage(base)
		for _, st := range []*stage{played, jumped} {
			st.engine.Do(Command{Kind: SelectSong, Index: song}, st.pos)
			st.transport("start", "")
		}
		require.NoError(t, played.play(to))
		for range rapid.IntRange(0, 3).Draw(t, "jumps") {
			jumped.pos.Beat = beatOf("via")
			jumped.pos.Pulse = jumped.pos.Beat
			jumped.pos.Jumps++
			jumped.frame()
			require.NoError(t, jumped.play(jumped.pos.Beat+3*clock.Quarter))
		}
		jumped.pos.Beat, jumped.pos.Pulse = to, to
		jumped.pos.Jumps++
		for _, st := range []*stage{played, jumped} {
			require.NoError(t, st.play(to+settle))
			st.frame()
		}
		assert.Equal(t, jumped.engine.universes[0], played.engine.universes[0], "%s at beat %v: played % x, jumped % x", s.Name, (to + settle).Quarters(), played.engine.universes[0].Slots[:14], jumped.engine.universes[0].Slots[:14])
	})
}

// Armed sections are entered exactly on a boundary of the song, whatever the
// tempo does on the way: the section's first downbeat is whole beats of the
// old one's away from its start.
func TestArmedSectionsLandOnBoundaries(t *testing.T) {
	base := hall(t)
	rapid.Check(t, func(t *rapid.T) {
		song := rapid.Int32Range(0, int32(len(base.Songs)-1)).Draw(t, "song")
		s := &base.Songs[song]
		st := newStage(base)
		st.engine.Do(Command{Kind: SelectSong, Index: song}, st.pos)
		st.transport("start", "")
		at := clock.Beat(rapid.Int64Range(0, int64(s.Length())-1).Draw(t, "at"))
		require.NoError(t, st.play(at))
		st.frame()
		from := &s.Sections[s.sectionAt(at)]
		to := rapid.Int32Range(0, int32(len(s.Sections)-1)).Draw(t, "section")
		when := When(rapid.IntRange(0, 2).Draw(t, "when"))
		st.engine.Do(Command{Kind: ArmSection, Index: to, When: when}, st.pos)
		st.pos.Tempo = clock.BPM(rapid.Float64Range(40, 240).Draw(t, "tempo"))
		st.pass(st.pos.Tempo.Span(from.Length + 1)) // frames fall anywhere
		require.Equal(t, None, st.engine.play.armed.section, "still armed a section's length later")
		entry := st.engine.play.origin + s.Sections[to].Start
		end := from.Start + from.Length
		unit := map[When]clock.Beat{NextBeat: s.Meter.Beat(), NextBar: s.Meter.Bar(), SectionEnd: from.Length}[when]
		assert.Greater(t, entry, at, "%s armed at %v quarters for the next %s of %s: entered at %v", s.Sections[to].Name, at.Quarters(), when, from.Name, entry.Quarters())
		assert.LessOrEqual(t, entry, at+unit, "%s armed at %v quarters for the next %s of %s: entered at %v", s.Sections[to].Name, at.Quarters(), when, from.Name, entry.Quarters())
		assert.LessOrEqual(t, entry, end, "%s armed at %v quarters for the next %s of %s: entered at %v", s.Sections[to].Name, at.Quarters(), when, from.Name, entry.Quarters())
		if entry != end {
			assert.Zero(t, (entry-from.Start)%unit, "%s armed at %v quarters for the next %s of %s: entered at %v", s.Sections[to].Name, at.Quarters(), when, from.Name, entry.Quarters())
		}
	})
}

// A fade never jumps: at a steady tempo no frame moves a wash further than its
// fade's share of a frame, whatever cue interrupts it. The show has slow fades, and
// neither effects nor builds: those go back at once where the music does.
func TestFadesDoNotJump(t *testing.T) {
	base := *hall(t)
	base.Effects = nil
	base.Songs = slices.Clone(base.Songs)
	for i := range base.Songs {
		base.Songs[i].Cues = slices.Clone(base.Songs[i].Cues)
		for j := range base.Songs[i].Cues {
			c := &base.Songs[i].Cues[j]
			c.Effects = nil
			eight := Span{Length: Length{Num: int32(8 * quarter / base.Songs[i].Meter.unit()), Den: 1}}
			if m := base.Songs[i].Meter; m.Beat() != m.unit() { // compound
				eight.Length.Den = 3
			}
			c.Fade = []Span{eight, seconds(4)}[j%2]
		}
	}
	base.Looks = slices.Clone(base.Looks)
	for i := range base.Looks {
		base.Looks[i].Effects = nil
		base.Looks[i].Fade = seconds(4)
	}
	kinds := []CommandKind{SelectSong, NextSong, FireSection, ArmSection, FireNote, ShowLook, ShowWalkIn, Hold, Release}
	rapid.Check(t, func(t *rapid.T) {
		p := anyHall(t, base)
		p.Songs = base.Songs
		p.ReleaseFade = 4 * clock.Second
		p.RunsOn = true // a song begins where play begins, not in the middle of a fade
		r := newRider(p)
		for range 3 {
			r.do(step{wait: clock.Second}, nil) // the transport is at 120
		}
		// A frame is 22.8 ms of 4 s, and a note may be late by half an eighth, which
		// is 125 ms at 120.
		const most = (0.0228 + 0.125) / 4
		// A colour moves evenly in Oklab (fixtures.Arc), and at most 1.5 over a whole fade:
		// the root of 1 of lightness, 0.33 of chroma and half a turn at that chroma,
		// squared. To and from black it moves evenly in linear light. A component alone
		// can move faster: blue rises twice as fast on the way to a light cyan.
		const mostColour = 1.5 * most
		last := slices.Clone(r.engine.sentLight)
		check := func(_ []dmx.Universe, pos clock.Position) {
			for h := range last {
				for q := range last[h] {
					limit := most
					if p := fixtures.Param(q); p == fixtures.Red || p == fixtures.Green || p == fixtures.Blue {
						if oklabDistance(&last[h], &r.engine.sentLight[h]) <= mostColour {
							continue
						}
						limit = mostColour
					}
					if d := math.Abs(last[h][q] - r.engine.sentLight[h][q]); d > limit {
						require.Fail(t, fmt.Sprintf("at %v: %s of %s jumps by %v", pos.At.Sub(0), fixtures.Param(q), p.Heads[h].Name, d))
					}
				}
			}
			copy(last, r.engine.sentLight)
		}
		for _, s := range night(t, kinds...) {
			if s.bpm != 0 || s.event.Kind == clock.SetTempo || s.event.Kind == clock.Tap || s.event.Kind == clock.Start || s.event.Kind == clock.Locate {
				continue // a seek goes to its light at once
			}
			r.do(s, check)
		}
	})
}

// oklabDistance is how far apart the colours of two states are.
func oklabDistance(a, b *fixtures.State) float64 {
	lab := func(s *fixtures.State) fixtures.OKLab {
		return fixtures.RGB{s[fixtures.Red], s[fixtures.Green], s[fixtures.Blue]}.OKLab()
	}
	return lab(a).Distance(lab(b))
}
