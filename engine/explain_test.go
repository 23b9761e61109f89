package engine

import (
	"context"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/fixtures"
)

// Whatever came before, the steps follow one from the other, the last is what is
// encoded, and nothing that explains moves the show.
func TestExplainedIsWhatIsLit(t *testing.T) {
	p := asPlayed(t)
	p.Haze = Duty{On: 3 * clock.Second, Every: 10 * clock.Second}
	rapid.Check(t, func(t *rapid.T) {
		e := New(p)
		list := events(t)
		for _, ev := range list {
			if ev.Command.Kind != 0 {
				e.Do(ev.Command, ev.Pos)
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
				if x.State != e.lit[h] {
					t.Fatalf("%s: explained %v, lit %v", p.Heads[h].Name, x.State, e.lit[h])
				}
				at := fixtures.State{}
				for i, s := range x.Steps {
					if i > 0 && (s.From != at || s.Layer < x.Steps[i-1].Layer) {
						t.Fatalf("%s: step %d (%s) begins with %v after %v", p.Heads[h].Name, i, s.Layer, s.From, at)
					}
					at = s.To
				}
				if at != x.State {
					t.Fatalf("%s: the last step ends at %v, lit is %v", p.Heads[h].Name, at, x.State)
				}
				for _, s := range x.Slots {
					if got := out[s.Universe].Slots[s.Address-1]; got != s.Value {
						t.Fatalf("%s: slot %d is %d, explained as %d", p.Heads[h].Name, s.Address, got, s.Value)
					}
				}
			}
			if e.State != before {
				t.Fatal("explaining moved the show")
			}
		}
	})
}

// TestDeciders is the order of precedence as those see it who ask why: up
// through the layers, then down again.
func TestDeciders(t *testing.T) {
	p := asPlayed(t)
	p.Ease, p.Unheld = 0, 0
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
		{func() { s.send(Command{Kind: GroupMaster, Index: 1, Level: 0.5}) }, MasterLayer, OverrideLayer},
		{func() { s.send(Command{Kind: GrandMaster, Level: 0.5}) }, MasterLayer, MasterLayer},
		{func() { s.send(Command{Kind: Blackout}) }, BlackoutLayer, BlackoutLayer},
		{func() { s.send(Command{Kind: WorkLight}) }, BlackoutLayer, WorkLayer},
		{func() { s.send(Command{Kind: WorkLightOff}); s.send(Command{Kind: Restore}) }, MasterLayer, MasterLayer},
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
			if got := x.Steps[x.Decider(fixtures.Intensity)].Layer; got != want {
				t.Errorf("with %s: %s decides on %s, want %s (%+v)", s.engine.cue.Name, got, p.Heads[h].Name, want, x.Steps)
			}
		}
	}
}

// What a cue of a later pass makes, a kept head that it does not name, and the
// part that decides are told apart.
func TestExplainedCue(t *testing.T) {
	s := newStage(asPlayed(t))
	s.send(Command{Kind: SelectSong, Index: 4})
	s.transport("start", "")
	if err := s.play(17 * quarter); err != nil { // the chorus goes round: its second pass
		t.Fatal(err)
	}
	s.frame()
	x := s.engine.View(s.pos).Explain(lamp1)[0]
	if x.Song != 4 || x.Pass != AgainPass || x.Cue.Name != "again" || x.Named != 1<<fixtures.Intensity || x.Status.Pass != 2 {
		t.Errorf("%+v", x)
	}
	if x := s.engine.View(s.pos).Explain(front)[0]; x.Named != 0 {
		t.Errorf("the cue names %b of the front, want nothing", x.Named)
	}
	s.send(Command{Kind: GroupMaster, Index: 0, Level: 0.5})
	s.send(Command{Kind: GroupMaster, Index: 1, Level: 0.25})
	s.frame()
	x = s.engine.View(s.pos).Explain(lamp1)[0]
	if d := x.Steps[x.Decider(fixtures.Intensity)]; d.Part != 1 || d.Level != 0.25 {
		t.Errorf("%+v decides, want the master of the lamps", d)
	}
}

// A running show is asked between frames, and its frames touch no heap for it.
func TestViewOfALoop(t *testing.T) {
	p := asPlayed(t)
	e := New(p)
	e.Frame(clock.Position{At: 1})
	v := View{engine: *New(p)}
	if got := testing.AllocsPerRun(100, func() { v.take(e, clock.Position{At: 2}) }); got != 0 && !raceDetector {
		t.Errorf("%v allocations a copy", got)
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
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	var snap Snapshot
	l.Snapshot(&snap)
	for _, v := range views {
		if v == nil || v.Program() != p || v.Position().At <= 0 || v.Explain(lamp1)[0].State != snap.Heads[lamp1] {
			t.Errorf("view %+v", v)
		}
	}
	if _, err := l.View(ctx); err == nil {
		t.Error("a show that has ended gives a view")
	}
}
