package engine

import (
	"testing"
	"testing/synctest"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// byUniverse is an output that notes every universe's frames.
type byUniverse struct {
	at     [][]clock.Time
	levels [][]byte // of slot 1
}

func (b *byUniverse) Send(now clock.Time, u []dmx.Universe, due []bool) error {
	if b.at == nil {
		b.at, b.levels = make([][]clock.Time, len(u)), make([][]byte, len(u))
	}
	for i := range u {
		if due == nil || due[i] {
			b.at[i] = append(b.at[i], now)
			b.levels[i] = append(b.levels[i], u[i].Slots[0])
		}
	}
	return nil
}

func (b *byUniverse) Close() error { return nil }

// A universe with less lead gets the same frames, later by what it has less.
func TestLeadByUniverse(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := &byUniverse{}
		base := clock.NewBase()
		g := play(t, func(c *LoopConfig) {
			c.Engine, c.Base = New(rigOf(t, 64, 4)), base
			c.Outputs = []Output{b}
			c.Leads = []clock.Time{60 * clock.Millisecond, 10 * clock.Millisecond, 60 * clock.Millisecond}
			c.Goodbye = clock.Second
		})
		g.command(Command{Kind: SelectSong})
		g.event(clock.Start)
		g.until(20 * clock.Second)
		g.end()
		for u, delay := range []clock.Time{0, 50 * clock.Millisecond, 0, 60 * clock.Millisecond} {
			if got, want := len(b.at[u]), len(b.at[0]); got < want-4 || got > want {
				t.Fatalf("universe %d: %d frames, the first has %d", u, got, want)
			}
			for i, at := range b.at[u] {
				if late := at - b.at[0][i]; late != delay {
					t.Fatalf("universe %d, frame %d: %v after the first universe, want %v", u, i, late.Sub(0), delay.Sub(0))
				}
			}
			if i := crowded(b.at[u], b.at[u]); i >= 0 {
				t.Errorf("universe %d: 45 frames in a second", u)
			}
			if n := len(b.levels[u]); b.levels[u][n-1] != 0 {
				t.Errorf("universe %d: its last frame is %d, want the end of the goodbye", u, b.levels[u][n-1])
			}
		}
	})
}

// After a stall a group goes on with the newest frame that is due.
func TestLaggardsSkip(t *testing.T) {
	l := newLaggards([]clock.Time{100 * clock.Millisecond, 0}, 2, dmx.MaxRate)
	u := make([]dmx.Universe, 2)
	for n := range clock.Time(5) {
		u[1].Slots[0] = byte(n)
		l.put(n*clock.Second/44, u)
	}
	g := l.first()
	if g == nil || g.next != 100*clock.Millisecond {
		t.Fatal("the first frame is not due after 100 ms")
	}
	if missed := l.take(g, clock.Second); missed != 4 || l.universes(g)[1].Slots[0] != 4 {
		t.Errorf("%d missed, frame %d; want 4 and 4", missed, l.universes(g)[1].Slots[0])
	}
	l.sent(g, clock.Second)
	if l.next() != never {
		t.Error("a frame is left to send")
	}
}

// One lead for all needs no copies and no groups.
func TestNoLaggards(t *testing.T) {
	for _, leads := range [][]clock.Time{nil, {5, 5}, {0}} {
		if l := newLaggards(leads, 2, dmx.MaxRate); l.lead != nil || l.next() != never {
			t.Errorf("%v: groups where all have the same lead", leads)
		}
	}
}
