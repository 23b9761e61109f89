package engine

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/synctest"

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
func TestRevisionDoesNotJump(t *testing.T) {
	base := *asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		p := anyHall(t, base)
		r := newRider(p)
		for _, s := range night(t, allKinds()...) {
			r.do(s, nil)
		}
		for range rapid.IntRange(1, 3).Draw(t, "revisions") {
			r.do(step{wait: clock.Second / 3}, nil)
			before, pos := r.engine.out[0], r.clock.At(r.now)
			next := revision(t, r.engine.prog, anyEdit(t, r.engine.prog))
			if !r.engine.Revise(next, pos) {
				t.Fatal("not taken")
			}
			after := r.engine.Frame(pos)[0]
			for i := range before.Slots {
				if d := int(before.Slots[i]) - int(after.Slots[i]); d < -1 || d > 1 {
					t.Fatalf("slot %d jumps from %d to %d", i+1, before.Slots[i], after.Slots[i])
				}
			}
		}
		for _, s := range night(t, allKinds()...) {
			r.do(s, func([]dmx.Universe, clock.Position) {
				for h := range r.engine.lit {
					for q, v := range r.engine.lit[h] {
						if !(v >= 0 && v <= 1) {
							t.Fatalf("%s of head %d is %v", fixtures.Param(q), h, v)
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
	if err := s.play(to); err != nil {
		t.Fatal(err)
	}
	s.frame()
	return s
}

// revise takes an edit over and plays a frame.
func (s *stage) revise(t *testing.T, to *Program) {
	t.Helper()
	if !s.engine.Revise(revision(t, s.engine.prog, to), s.pos) {
		t.Fatal("not taken")
	}
	s.frame()
}

// A verse that is made two bars longer while the chorus after it is played does
// not move the chorus: bar and beat stay, and the bridge comes when it would
// have come.
func TestRevisionKeepsThePlace(t *testing.T) {
	p := hall(t)
	s, twin := playing(t, p, 29*quarter), playing(t, p, 29*quarter)
	to := edited(p)
	to.Songs[0].lengthen(1, 8*quarter)
	s.revise(t, to)
	if st := s.engine.Status(s.pos); st.Section != 2 || st.Beat != 37*quarter || st.Pass != 1 || st.Lost != 0 {
		t.Errorf("%+v; want the chorus at beat 37, in its first pass", st)
	}
	for _, to := range []clock.Beat{31 * quarter, 38 * quarter, 41 * quarter, 58 * quarter, 83 * quarter} {
		for _, s := range []*stage{s, twin} {
			if err := s.play(to); err != nil {
				t.Fatal(err)
			}
			s.frame()
		}
		if s.engine.out[0] != twin.engine.out[0] {
			t.Errorf("beat %v: % x, without the edit % x", to.Quarters(), s.engine.out[0].Slots[:14], twin.engine.out[0].Slots[:14])
		}
	}
}

// What is armed stays armed for its moment; for the end of a section it is the
// end as it is now.
func TestRevisionKeepsWhatIsArmed(t *testing.T) {
	p := hall(t)
	for when, want := range map[When]clock.Beat{NextBar: 32 * quarter, SectionEnd: 44 * quarter} {
		s := playing(t, p, 29*quarter)
		s.send(Command{Kind: ArmSection, Index: 4, When: when})
		to := edited(p)
		to.Songs[0].lengthen(0, 4*quarter) // the intro
		to.Songs[0].lengthen(2, 4*quarter) // the chorus that is played
		s.revise(t, to)
		for s.pos.Beat < want-1 {
			if s.engine.play.armed.section != 4 {
				t.Fatalf("%v: entered at %v", when, s.pos.Beat.Quarters())
			}
			s.move(0, min(quarter/4, want-1-s.pos.Beat))
			s.frame()
		}
		s.move(0, 1)
		s.frame()
		if st := s.engine.Status(s.pos); st.Section != 4 || st.Beat != to.Songs[0].Sections[4].Start {
			t.Errorf("%v: %+v", when, st)
		}
	}
}

// When what is played has gone from the files, the light stays, effects and
// all, until something else is asked for; that is counted once.
func TestRevisionLosesWhatIsPlayed(t *testing.T) {
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
			s.revise(t, to)
			if want := map[string]uint64{"song": 1, "section": 1}[name]; s.engine.lost != want {
				t.Errorf("%d lost, want %d", s.engine.lost, want)
			}
			for _, st := range []*stage{s, twin} {
				if err := st.play(33 * quarter); err != nil {
					t.Fatal(err)
				}
				st.frame()
			}
			if s.engine.out[0] != twin.engine.out[0] {
				t.Errorf("% x, without the edit % x", s.engine.out[0].Slots[:14], twin.engine.out[0].Slots[:14])
			}
			if name == "cues" {
				return // the plan has nothing more
			}
			if name == "song" {
				s.send(Command{Kind: SelectSong})
			}
			s.send(Command{Kind: FireSection, Index: 3})
			s.pass(3 * clock.Second)
			if st := s.engine.Status(s.pos); st.Look != "glow" || st.Section != 3 {
				t.Errorf("after the bridge was fired: %+v", st)
			}
		})
	}
}

// A section that is gone is stayed in up to where the next one would have begun.
func TestRevisionGoesOnWithThePlan(t *testing.T) {
	p := hall(t)
	s := playing(t, p, 29*quarter)
	to := edited(p)
	song := &to.Songs[0]
	song.lengthen(2, -16*quarter)
	song.Sections = slices.Delete(song.Sections, 2, 3)
	song.Cues = slices.Delete(song.Cues, 2, 4) // its cues
	s.revise(t, to)
	if err := s.play(40*quarter - 1); err != nil {
		t.Fatal(err)
	}
	if st := s.engine.Status(s.pos); st.Look != "full" {
		t.Errorf("before the bridge: %+v", st)
	}
	s.move(0, 1)
	s.frame()
	if st := s.engine.Status(s.pos); st.Look != "glow" || st.Beat != 24*quarter || song.Sections[st.Section].Name != "bridge" {
		t.Errorf("at the bridge: %+v", st)
	}
}

// Masters, overrides, hold and blackout stay. A group's master holds though the
// files have another name for the group.
func TestRevisionKeepsHands(t *testing.T) {
	p := hall(t)
	s := playing(t, p, 29*quarter)
	s.send(Command{Kind: GroupMaster, Index: 0, Level: 0.5})
	s.send(Command{Kind: Override, Index: 2, Param: fixtures.Intensity, Level: 1})
	s.pass(clock.Second)
	before := s.engine.out[0]
	to := edited(p)
	to.Groups[0].Name = "floods"
	slices.Reverse(to.Groups)
	s.revise(t, to)
	if s.engine.out[0] != before {
		t.Errorf("% x, before % x", s.engine.out[0].Slots[:14], before.Slots[:14])
	}
	if got := s.engine.hands.list[0].group; s.engine.prog.Groups[got].Name != "front" {
		t.Errorf("the override holds %q", s.engine.prog.Groups[got].Name)
	}
	s.send(Command{Kind: Hold})
	s.send(Command{Kind: Blackout})
	s.frame()
	black := s.engine.out[0]
	dim := edited(s.engine.prog)
	for i := range dim.Songs[0].Cues {
		dimmed(&dim.Songs[0].Cues[i], 0.25)
	}
	s.revise(t, dim)
	s.pass(5 * clock.Second)
	if st := s.engine.Status(s.pos); !st.Held || !st.Blackout || s.engine.out[0] != black {
		t.Errorf("%+v: % x, want % x", st, s.engine.out[0].Slots[:14], black.Slots[:14])
	}
}

// A level that was edited is gone to over a second, without a jump.
func TestRevisionIsBridged(t *testing.T) {
	p := hall(t)
	s := newStage(p)
	s.pass(5 * clock.Second)
	if got := s.engine.out[0].Slots[10]; got == 0 {
		t.Fatal("the front is dark in the walk-in")
	}
	was := float64(s.engine.out[0].Slots[10])
	to := edited(p)
	dimmed(&to.Looks[p.WalkIn], 0.5)
	s.revise(t, to)
	for _, c := range []struct {
		at   clock.Time
		want float64
	}{{0, was}, {clock.Second / 2, was * 0.75}, {clock.Second / 2, was / 2}, {clock.Second, was / 2}} {
		s.pass(c.at)
		if got := float64(s.engine.out[0].Slots[10]); math.Abs(got-c.want) > 1 {
			t.Errorf("the front is at %v, want %v", got, c.want)
		}
	}
}

// A second edit while the first is still being gone to starts from where the
// light is, not from further off.
func TestRevisionsFollowEachOther(t *testing.T) {
	p := hall(t)
	s := newStage(p)
	s.pass(5 * clock.Second)
	was := float64(s.engine.out[0].Slots[10])
	dim := edited(p)
	dimmed(&dim.Looks[p.WalkIn], 0.5)
	s.revise(t, dim)
	s.pass(clock.Second / 2) // at three quarters
	dimmer := edited(dim)
	dimmed(&dimmer.Looks[p.WalkIn], 0.5)
	s.revise(t, dimmer) // to a quarter
	for _, c := range []struct {
		at   clock.Time
		want float64
	}{{0, 0.75}, {clock.Second / 4, 0.625}, {clock.Second / 4, 0.5}, {clock.Second / 2, 0.25}, {clock.Second, 0.25}} {
		s.pass(c.at)
		if got := float64(s.engine.out[0].Slots[10]); math.Abs(got-was*c.want) > 1 {
			t.Errorf("the front is at %v, want %v", got, was*c.want)
		}
	}
}

// The patch is not changed live, and what has changed is said.
func TestRevisionRefusesAnotherPatch(t *testing.T) {
	p := hall(t)
	with := func(change func(at []fixtures.Placement) []fixtures.Placement) *Program {
		q := edited(p)
		patch, err := fixtures.NewPatch(1, change(slices.Clone(p.Patch.Placements())))
		if err != nil {
			t.Fatal(err)
		}
		q.Patch = patch
		return q
	}
	for want, q := range map[string]*Program{
		`"hazer" has another address`: with(func(at []fixtures.Placement) []fixtures.Placement { at[hazer].Address = 101; return at }),
		`"hazer" is gone`:             with(func(at []fixtures.Placement) []fixtures.Placement { return at[:hazer] }),
		`"mist" is new`:               with(func(at []fixtures.Placement) []fixtures.Placement { at[hazer].Name = "mist"; return at }),
		"universes":                   func() *Program { q := edited(p); q.Universes = []string{"other"}; return q }(),
	} {
		if _, err := NewRevision(p, q); !errors.Is(err, ErrRestart) || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// A revision of another program than the one played is not taken.
func TestRevisionOfAnotherIsNotTaken(t *testing.T) {
	p := hall(t)
	s := newStage(p)
	other := edited(p)
	if s.engine.Revise(revision(t, other, edited(other)), s.pos) || s.engine.prog != p {
		t.Error("taken")
	}
}

// Taking a revision touches no heap.
func TestReviseAllocatesNothing(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates; make quiet runs this without it")
	}
	p := asPlayed(t)
	s := playing(t, p, 29*quarter)
	s.send(Command{Kind: Override, Index: 2, Param: fixtures.Intensity, Level: 1})
	var next []*Revision
	for range 22 {
		to := edited(p)
		to.Songs[0].lengthen(1, 4*quarter)
		dimmed(&to.Songs[0].Cues[2], 0.9)
		next = append(next, revision(t, p, to))
		p = to
	}
	if n := testing.AllocsPerRun(20, func() {
		if !s.engine.Revise(next[0], s.pos) {
			t.Fatal("not taken")
		}
		next = next[1:]
		s.engine.Frame(s.pos)
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// The loop takes a revision between two frames: what came before it in the
// channel means the old show, what comes after it the new. No frame is missed,
// and a tempo that was tapped stays unless the song's was edited.
func TestLoopTakesARevision(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := hall(t)
		r := &recorder{}
		g := play(t, func(c *LoopConfig) { c.Engine = New(p) }, r)
		g.command(Command{Kind: SelectSong, Index: 1})
		g.until(clock.Second / 10)
		g.input <- Input{Event: clock.Event{At: g.base.Now(), Kind: clock.SetTempo, Tempo: clock.BPM(90)}}
		to := shuffled(t, p)
		g.command(Command{Kind: Hold})
		g.input <- Input{Revision: revision(t, p, to)}
		g.command(Command{Kind: ShowLook, Index: int32(len(to.Looks) - 1)}) // the old show's first
		g.until(clock.Second)
		if s := g.snapshot(); s.Program != to || !s.Status.Held || s.Status.Look != p.Looks[0].Name || s.Health.Missed != 0 || s.Health.Frames != 45 {
			t.Errorf("%+v %+v", s.Status, s.Health)
		}
		g.command(Command{Kind: SelectSong, Index: 2}) // the same song
		g.until(clock.Second * 2)
		g.input <- Input{Event: clock.Event{At: g.base.Now(), Kind: clock.SetTempo, Tempo: clock.BPM(90)}}
		g.until(clock.Second * 3)
		same := edited(to)
		g.input <- Input{Revision: revision(t, to, same)}
		g.until(clock.Second * 4)
		if got := g.snapshot().Pos.Tempo; got != clock.BPM(90) {
			t.Errorf("tempo %v, want the 90 that was set", got.BPM())
		}
		faster := edited(same)
		faster.Songs[2].Tempo = clock.BPM(150)
		g.input <- Input{Revision: revision(t, same, faster)}
		g.until(clock.Second * 5)
		if s := g.snapshot(); s.Pos.Tempo != clock.BPM(150) || s.Program != faster {
			t.Errorf("tempo %v, want the edited 150", s.Pos.Tempo.BPM())
		}
		if err := g.end(); err != nil {
			t.Error(err)
		}
	})
}
