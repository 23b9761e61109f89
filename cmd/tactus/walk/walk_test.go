package walk

import (
	"context"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/midi"
	"tactus/shows/showtest"
)

func demoWalk(t *testing.T) (*Walker, *engine.Program) {
	t.Helper()
	show := showtest.Demo(t)
	w := New(show)
	return w, w.Program(show.Program, 0.3)
}

// Every fixture comes once, in the order of universes and addresses; back is
// the way round.
func TestWalkOrder(t *testing.T) {
	w, _ := demoWalk(t)
	var seen []string
	for range w.fixtures {
		require.NoError(t, w.runWord("next", ""))
		seen = append(seen, w.stops[w.at].name)
	}
	assert.Equal(t, "wash 1", seen[0])
	assert.GreaterOrEqual(t, len(seen), 12)
	count := map[string]int{}
	for _, n := range seen {
		count[n]++
		assert.LessOrEqual(t, count[n], 1, "%s came twice", n)
	}
	w.runWord("next", "")
	assert.Equal(t, seen[0], w.stops[w.at].name, "it does not begin again at its end")
	for i := range seen {
		w.runWord("back", "")
		require.Equal(t, seen[len(seen)-1-i], w.stops[w.at].name, "back")
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
				require.LessOrEqual(t, v, limit+1e-9, p.Heads[h].Name)
				require.LessOrEqual(t, s[fixtures.Haze], 0.0, p.Heads[h].Name)
				require.LessOrEqual(t, s[fixtures.Fan], 0.0, p.Heads[h].Name)
				// A fade of a second moves 0.5 in 44 frames; two may lie between looks.
				if last != nil {
					require.InDelta(t, last[h][fixtures.Intensity], v, 2*0.5/44+1e-9, "%s jumps", p.Heads[h].Name)
				}
			}
			last = append(last[:0], snap.Heads...)
		}
		press := func(word, rest string) {
			require.NoError(t, w.runWord(word, rest))
			input <- engine.Input{Command: engine.Command{Kind: engine.ShowLook, Index: w.lookIndex()}}
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
			hazer := !anyGivesLight(p, []int32{int32(h)})
			assert.Equal(t, s[fixtures.Intensity] > 0, head.Name == "wash 3" || head.Spared && !hazer, "%s at %v", head.Name, s[fixtures.Intensity])
		}
		cancel()
		assert.NoError(t, <-done)
	})
}

// Notes do what words do: two on are two fixtures further, the note off is
// nothing, and a note that means nothing is left alone.
func TestWalkByNotes(t *testing.T) {
	w, p := demoWalk(t)
	base, input := clock.NewBase(), make(chan engine.Input, 8)
	inbox := midi.NewInbox(base, 8, nil)
	said := make(lineChannel, 8)
	tour := NewTour(w, base, func(in engine.Input) bool { input <- in; return true }, said, "", "")
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go tour.Listen(ctx, inbox.Messages())
	for _, m := range []midi.Message{
		midi.NewNoteOn(1, 60, 100), midi.NewNoteOff(1, 60), midi.NewNoteOn(9, 99, 100), midi.NewNoteOn(3, 60, 1),
	} {
		inbox.Put(m)
	}
	for i, want := range []string{"1 of ", "2 of "} {
		line := <-said
		assert.True(t, strings.HasPrefix(line, want), "said %q, want %q", line, want)
		in := <-input
		assert.Equal(t, engine.ShowLook, in.Command.Kind, "note %d", i+1)
		assert.Equal(t, w.stops[i].name+", white", p.Looks[in.Command.Index].Name, "note %d", i+1)
	}
}

// lineChannel hands on what is written.
type lineChannel chan string

func (c lineChannel) Write(b []byte) (int, error) {
	c <- string(b)
	return len(b), nil
}
