package engine

import (
	"context"
	"sync"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
)

// Whatever came before, the steps follow one from the other, the last is what is
// encoded, and nothing that explains moves the show.
func TestExplainedIsWhatIsLit(t *testing.T) {
	p := asPlayed(t)
	p.Haze = DutyCycle{On: 3 * clock.Second, Every: 10 * clock.Second}
	rapid.Check(t, func(t *rapid.T) {
		e := New(p)
		list := events(t)
		for _, ev := range list {
			if ev.Command.Kind != 0 {
				e.Do(ev.Command, ev.Pos)
			}
			if rapid.IntRange(0, 3).Draw(t, "desk") == 0 {
				e.TakeLevels(anyLevels(t), ev.Pos)
			}
			out := e.Frame(ev.Pos)
			if !rapid.Bool().Draw(t, "asked") {
				continue
			}
			before := e.State
			v := e.View(ev.Pos)
			var all []int32
			for h := range int32(hallHeads) {
				all = append(all, h)
			}
			for h, x := range v.Explain(all...) {
				require.Equal(t, e.sentLight[h], x.State, p.Heads[h].Name)
				at := fixtures.State{}
				for i, s := range x.Steps {
					if i > 0 {
						require.Equal(t, at, s.From, "%s: step %d (%s) begins", p.Heads[h].Name, i, s.Layer)
						require.GreaterOrEqual(t, s.Layer, x.Steps[i-1].Layer, "%s: step %d (%s) begins", p.Heads[h].Name, i, s.Layer)
					}
					at = s.To
				}
				require.Equal(t, x.State, at, "%s: the last step ends", p.Heads[h].Name)
				for _, s := range x.Slots {
					require.Equal(t, s.Value, out[s.Universe].Slots[s.Address-1], "%s: slot %d", p.Heads[h].Name, s.Address)
				}
			}
			require.Equal(t, before, e.State, "explaining moved the show")
		}
	})
}

// TestDeciders is the order of precedence as those see it who ask why: up
// through the layers, then down again.
func TestDeciders(t *testing.T) {
	p := asPlayed(t)
	p.Ease, p.ReleaseFade = 0, 0
	p.Looks = append(p.Looks, named("two", cue(seconds(10), dims([]int32{lamp1}, 1), dim(front, 0.9))))
	two := int32(len(p.Looks) - 1)
	s := newStage(p)
	e := s.engine
	for _, step := range []struct {
		do          func()
		lamp, front Layer
	}{
		{func() { s.send(Command{Kind: ShowLook, Index: 3}); e.cue.Effects = nil }, LookLayer, LookLayer},
		{func() { e.cue.Effects = []int32{rock}; s.pos.Pulse = 0 }, EffectLayer, LookLayer},
		{func() { s.send(Command{Kind: ShowLook, Index: two}); s.pos.At += clock.Second }, FadeLayer, FadeLayer},
		{func() { e.prog.Talk = two; e.prog.Floors[0].Level = 0.7 }, FadeLayer, FloorLayer},
		{func() { s.send(Command{Kind: Hold}) }, HoldLayer, HoldLayer},
		{func() { s.send(Command{Kind: Override, Index: 1, Level: 0.8}) }, OverrideLayer, HoldLayer},
		{func() { s.send(Command{Kind: Override, Index: 2, Level: 0.4}) }, OverrideLayer, OverrideLayer},
		{func() { s.desk(0, 250) }, OverrideLayer, OverrideLayer}, // where its faders stand is no move
		{func() { s.desk(0, 180) }, InputLayer, InputLayer},
		{func() { s.send(Command{Kind: GroupMaster, Index: 1, Level: 0.5}) }, MasterLayer, InputLayer},
		{func() { s.send(Command{Kind: GrandMaster, Level: 0.5}) }, MasterLayer, MasterLayer},
		{func() { s.send(Command{Kind: Blackout}) }, BlackoutLayer, BlackoutLayer},
		{func() { s.send(Command{Kind: WorkLight}) }, BlackoutLayer, WorkLayer},
		{func() { s.send(Command{Kind: WorkLightOff}); s.send(Command{Kind: Restore}) }, MasterLayer, MasterLayer},
		{func() { s.deskGone(0) }, MasterLayer, MasterLayer},
		{func() { s.send(Command{Kind: ReleaseOverride, Index: None}) }, MasterLayer, MasterLayer},
		{func() { s.send(Command{Kind: GrandMaster, Level: 1}) }, MasterLayer, HoldLayer},
		{func() { s.send(Command{Kind: GroupMaster, Index: 1, Level: 1}) }, HoldLayer, HoldLayer},
		{func() { s.send(Command{Kind: Release}); s.pos.At += 10 * clock.Second }, LookLayer, LookLayer},
	} {
		step.do()
		s.pos.At++
		s.frame()
		v := e.View(s.pos)
		for h, want := range map[int32]Layer{lamp1: step.lamp, front: step.front} {
			x := v.Explain(h)[0]
			assert.Equal(t, want, x.Steps[x.Decider(fixtures.Intensity)].Layer, "with %s: decides on %s", s.engine.cue.Name, p.Heads[h].Name)
		}
	}
}

// What a cue of a later pass makes, a kept head that it does not name, and the
// part that decides are told apart.
func TestExplainedCue(t *testing.T) {
	s := newStage(asPlayed(t))
	s.send(Command{Kind: SelectSong, Index: 4})
	s.transport("start", "")
	require.NoError(t, s.play(17*quarter)) // the chorus goes round: its second pass
	s.frame()
	x := s.engine.View(s.pos).Explain(lamp1)[0]
	assert.EqualValues(t, 4, x.Song)
	assert.Equal(t, AgainPass, x.Pass)
	assert.Equal(t, "again", x.Cue.Name)
	assert.EqualValues(t, 1<<fixtures.Intensity, x.Named)
	assert.Equal(t, 2, x.Status.Pass)
	assert.Zero(t, s.engine.View(s.pos).Explain(front)[0].Named, "parameters of the front that the cue names")
	s.send(Command{Kind: GroupMaster, Index: 0, Level: 0.5})
	s.send(Command{Kind: GroupMaster, Index: 1, Level: 0.25})
	s.frame()
	x = s.engine.View(s.pos).Explain(lamp1)[0]
	d := x.Steps[x.Decider(fixtures.Intensity)]
	assert.EqualValues(t, 1, d.Part)
	assert.Equal(t, 0.25, d.Level)
}

// A running show is asked between frames, and its frames touch no heap for it.
func TestViewOfALoop(t *testing.T) {
	p := asPlayed(t)
	e := New(p)
	e.Frame(clock.Position{At: 1})
	v := View{engine: *New(p)}
	got := testing.AllocsPerRun(100, func() { v.copyEngine(e, clock.Position{At: 2}) })
	if !raceDetector {
		assert.Zero(t, got, "allocations a copy")
	}
	l := NewLoop(LoopConfig{Engine: e, Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase()})
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() { ended <- l.Run(ctx) }()
	var views [3]*View
	var asked sync.WaitGroup
	for i := range views {
		asked.Go(func() { views[i], _ = l.View(ctx) })
	}
	asked.Wait()
	cancel()
	require.NoError(t, <-ended)
	var snap Snapshot
	l.Snapshot(&snap)
	for _, v := range views {
		if assert.NotNil(t, v, "view %+v", v) {
			assert.Same(t, p, v.Program(), "view %+v", v)
			assert.Greater(t, v.Position().At, clock.Time(0), "view %+v", v)
			assert.Equal(t, snap.Heads[lamp1], v.Explain(lamp1)[0].State, "view %+v", v)
		}
	}
	_, err := l.View(ctx)
	assert.Error(t, err, "a show that has ended gives a view")
}

// Callers that have left are not served: the next one gets the next frame. No more than
// MaxViews wait at a time.
func TestAbandonedViewsAreDropped(t *testing.T) {
	e := New(asPlayed(t))
	e.Frame(clock.Position{At: 1})
	l := NewLoop(LoopConfig{Engine: e, Clock: clock.NewTransport(clock.Config{}), Base: clock.NewBase()})
	gone, leave := context.WithCancel(t.Context())
	leave()
	for range 1000 {
		_, err := l.View(gone)
		require.ErrorIs(t, err, context.Canceled)
	}
	synctest.Test(t, func(t *testing.T) {
		views := make(chan *View, MaxViews)
		for range MaxViews {
			go func() { v, _ := l.View(t.Context()); views <- v }()
		}
		synctest.Wait() // all of them wait
		_, err := l.View(t.Context())
		require.ErrorIs(t, err, ErrManyViews)
		for i := range MaxViews {
			l.board.post(e, clock.Position{At: clock.Time(i + 2)}, &l.health)
			assert.EqualValues(t, i+2, (<-views).Position().At, "position of the frame")
		}
		gone, leave := context.WithCancel(t.Context())
		go func() { v, _ := l.View(gone); views <- v }()
		synctest.Wait()
		leave()
		assert.Nil(t, <-views, "the caller has left")
	})
}
