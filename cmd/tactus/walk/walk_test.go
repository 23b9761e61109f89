package walk

import (
	"context"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/midi"
	"tactus/shows"
)

func demoWalk(t *testing.T) (*Walker, *engine.Program) {
	t.Helper()
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	w := New(show)
	return w, w.Program(show.Program, 0.3)
}

// Every fixture comes once, in the order of universes and addresses; back is
// the way round.
func TestWalkOrder(t *testing.T) {
	w, _ := demoWalk(t)
	var seen []string
	for range w.fixtures {
		if err := w.do("next", ""); err != nil {
			t.Fatal(err)
		}
		seen = append(seen, w.stops[w.at].name)
	}
	if seen[0] != "wash 1" || len(seen) < 12 {
		t.Errorf("%q", seen)
	}
	count := map[string]int{}
	for _, n := range seen {
		if count[n]++; count[n] > 1 {
			t.Errorf("%s came twice", n)
		}
	}
	if w.do("next", ""); w.stops[w.at].name != seen[0] {
		t.Error("it does not begin again at its end")
	}
	for i := range seen {
		if w.do("back", ""); w.stops[w.at].name != seen[len(seen)-1-i] {
			t.Fatalf("back: %s, want %s", w.stops[w.at].name, seen[len(seen)-1-i])
		}
	}
}

// Whatever is pressed, however fast: only what is asked for lights up, none
// above 30 %, and no head moves faster than its fade, so that nothing flashes.
// What blackout spares stays at half, and haze stays off.
func TestWalkIsGentle(t *testing.T) {
	w, p := demoWalk(t)
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(context.Background())
		input := make(chan engine.Input, 8)
		loop := engine.NewLoop(engine.LoopConfig{
			Engine: engine.New(p), Clock: clock.NewTransport(clock.Config{Internal: clock.BPM(120), Lead: clock.LeadMIDI}),
			Base: clock.NewBase(), Input: input,
		})
		done := make(chan error)
		go func() { done <- loop.Run(ctx) }()
		var snap engine.Snapshot
		var last []fixtures.State
		frame := func() {
			time.Sleep(time.Second / 44)
			synctest.Wait()
			loop.Snapshot(&snap)
			for h, s := range snap.Heads {
				limit := 0.3
				if p.Heads[h].Spared {
					limit = houseLevel
				}
				v := s[fixtures.Intensity]
				if v > limit+1e-9 || s[fixtures.Haze] > 0 || s[fixtures.Fan] > 0 {
					t.Fatalf("%s at %v, haze %v", p.Heads[h].Name, v, s[fixtures.Haze])
				}
				// A fade of a second moves 0.5 in 44 frames; two may lie between looks.
				if last != nil && math.Abs(v-last[h][fixtures.Intensity]) > 2*0.5/44+1e-9 {
					t.Fatalf("%s jumps from %v to %v", p.Heads[h].Name, last[h][fixtures.Intensity], v)
				}
			}
			last = append(last[:0], snap.Heads...)
		}
		press := func(word, rest string) {
			if err := w.do(word, rest); err != nil {
				t.Fatal(err)
			}
			input <- engine.Input{Command: engine.Command{Kind: engine.ShowLook, Index: w.look()}}
		}
		frame()
		for i, word := range strings.Fields("next next colour colour back group all colour next dark next next next all dark group group") {
			press(word, "")
			for range 3 + i%7 { // pressed again long before the fade is over
				frame()
			}
		}
		press("find", "wash 3")
		for range 60 {
			frame()
		}
		for h, s := range snap.Heads {
			head := &p.Heads[h]
			hazer := !lights(p, []int32{int32(h)})
			if lit := head.Name == "wash 3" || head.Spared && !hazer; lit != (s[fixtures.Intensity] > 0) {
				t.Errorf("%s at %v", head.Name, s[fixtures.Intensity])
			}
		}
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
}

// Notes do what words do: two on are two fixtures further, the note off is
// nothing, and a note that means nothing is left alone.
func TestWalkByNotes(t *testing.T) {
	w, p := demoWalk(t)
	base, input := clock.NewBase(), make(chan engine.Input, 8)
	inbox := midi.NewInbox(base, 8, nil)
	said := make(lineChannel, 8)
	tour := NewTour(w, base, input, said, "", "")
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go tour.Listen(ctx, inbox.Messages())
	for _, m := range []midi.Message{
		midi.NewNoteOn(1, 60, 100), midi.NewNoteOff(1, 60), midi.NewNoteOn(9, 99, 100), midi.NewNoteOn(3, 60, 1),
	} {
		inbox.Put(m)
	}
	for i, want := range []string{"1 of ", "2 of "} {
		if line := <-said; !strings.HasPrefix(line, want) {
			t.Errorf("said %q, want %q", line, want)
		}
		in := <-input
		if name := p.Looks[in.Command.Index].Name; in.Command.Kind != engine.ShowLook || name != w.stops[i].name+", white" {
			t.Errorf("note %d shows %q", i+1, name)
		}
	}
}

// lineChannel hands on what is written.
type lineChannel chan string

func (c lineChannel) Write(b []byte) (int, error) {
	c <- string(b)
	return len(b), nil
}
