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
		if n%3 == 0 {
			input <- Input{Command: Command{Kind: FireName, Index: int32(n % 2)}}
		}
		l.step(now)
		now = l.next()
	}
	for range 44 {
		frame()
	}
	before := o.sends
	if got := testing.AllocsPerRun(300, frame); got != 0 {
		t.Errorf("%v allocations a frame", got)
	}
	if o.sends-before < 100 {
		t.Errorf("%d sends in 300 frames, want 100 at least", o.sends-before)
	}
}
