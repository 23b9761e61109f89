package engine

import (
	"testing"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// order keeps what a loop hands out, light and messages, without the heap.
type order struct {
	frames, sends int
	texts         [8]string // what came with the last frame
	n             int
}

func (o *order) Send(clock.Time, []dmx.Universe, []bool) error { o.frames++; o.n = 0; return nil }
func (o *order) Close() error                                  { return nil }

func (o *order) Deliver(s *Send) {
	o.sends++
	o.texts[o.n] = s.Text
	o.n++
}

// sender is a loop that has begun to play a program with its outputs.
func sender(p *Program) (*Loop, *order, chan Input) {
	input, o := make(chan Input, 64), &order{}
	l := NewLoop(LoopConfig{
		Engine: New(p), Clock: clock.NewTransport(clock.Config{Lead: clock.LeadInternal}), Base: clock.NewBase(), Input: input,
		Outputs: []Output{o}, Messages: o,
	})
	l.start(clock.Second)
	return l, o, input
}

// What a cue sends is handed over in its order, after the light of its frame.
func TestLoopDelivers(t *testing.T) {
	l, o, input := sender(asPlayed(t))
	l.step(clock.Second)
	if o.frames != 1 || o.n != 1 || o.texts[0] != "welcome" {
		t.Fatalf("with frame %d came %q, want the walk-in's with the first", o.frames, o.texts[:o.n])
	}
	input <- Input{Command: Command{Kind: SelectSong, Index: 5}}
	input <- Input{Event: clock.Event{At: clock.Second, Kind: clock.Start}}
	input <- Input{Command: Command{Kind: FireName, Index: 1}}
	l.step(l.next())
	if o.frames != 2 || o.n != 2 || o.texts[0] != "chorus" || o.texts[1] != "bell" {
		t.Errorf("with frame %d came %q, want chorus and bell", o.frames, o.texts[:o.n])
	}
	l.step(l.next())
	if o.frames != 3 || o.n != 0 {
		t.Errorf("with frame %d came %q, want nothing", o.frames, o.texts[:o.n])
	}
}

// Frames that send touch no heap.
func TestSendsWithoutHeap(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates")
	}
	l, o, input := sender(asPlayed(t))
	input <- Input{Command: Command{Kind: SelectSong, Index: 5}}
	input <- Input{Event: clock.Event{At: clock.Second, Kind: clock.Start}}
	now, n := clock.Second, 0
	frame := func() {
		n++
		input <- Input{Command: Command{Kind: FireName, Index: int32(n % 2)}}
		l.step(now)
		now = l.next()
	}
	for range 44 {
		frame()
	}
	before := o.sends
	// The count is rounded down: several sends a run, so that one allocation of
	// each shows.
	if got := testing.AllocsPerRun(100, func() {
		for range 4 {
			frame()
		}
	}); got != 0 {
		t.Errorf("%v allocations in four frames", got)
	}
	if o.sends-before < 200 {
		t.Errorf("%d sends in 400 frames, want two in four frames at least", o.sends-before)
	}
}

// An edit that is taken over sends nothing, even where cues have moved; the next
// cue sends what the new program says.
func TestRevisionSendsNothing(t *testing.T) {
	old, to := asPlayed(t), asPlayed(t)
	song := &to.Songs[5]
	song.Cues = append([]Cue{song.Cues[0], at(2*quarter, named("calm", cue(beats(8), dims(lamps, 1))))}, song.Cues[1:]...)
	s := newStage(old)
	s.send(Command{Kind: SelectSong, Index: 5})
	for _, verb := range []string{"start", "to"} {
		if err := s.transport(verb, "5"); err != nil {
			t.Fatal(err)
		}
	}
	s.sent = nil
	if !s.engine.Revise(revision(t, old, to), s.pos) {
		t.Fatal("not taken")
	}
	s.frame()
	if err := s.transport("to", "7"); err != nil {
		t.Fatal(err)
	}
	if len(s.sent) > 0 {
		t.Errorf("sent %q", s.sent)
	}
	if err := s.transport("to", "8"); err != nil || len(s.sent) != 2 {
		t.Errorf("then sent %q, %v; want the chorus's two", s.sent, err)
	}
}
