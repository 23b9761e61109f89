package engine

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
			got, want := len(b.at[u]), len(b.at[0])
			require.GreaterOrEqual(t, got, want-4, "universe %d, the first", u)
			require.LessOrEqual(t, got, want, "universe %d, the first", u)
			for i, at := range b.at[u] {
				require.Equal(t, delay, at-b.at[0][i], "universe %d, frame %d: after the first universe", u, i)
			}
			assert.Less(t, crowded(b.at[u], b.at[u]), 0, "universe %d: 45 frames in a second", u)
			assert.Zero(t, b.levels[u][len(b.levels[u])-1], "universe %d: its last frame", u)
		}
	})
}

// After a stall a group goes on with the newest frame that is due.
func TestLaggardsSkip(t *testing.T) {
	l := newDelayedUniverses([]clock.Time{100 * clock.Millisecond, 0}, 2, dmx.MaxRate)
	u := make([]dmx.Universe, 2)
	for n := range clock.Time(5) {
		u[1].Slots[0] = byte(n)
		l.keepFrame(n*clock.Second/44, u)
	}
	g := l.nextGroup()
	require.NotNil(t, g, "the first frame is not due after 100 ms")
	require.Equal(t, 100*clock.Millisecond, g.next, "the first frame is not due after 100 ms")
	assert.EqualValues(t, 4, l.skipToDue(g, clock.Second))
	assert.EqualValues(t, 4, l.universes(g)[1].Slots[0])
	l.recordSent(g, clock.Second)
	assert.Equal(t, never, l.next(), "a frame is left to send")
}

// One lead for all needs no copies and no groups.
func TestNoLaggards(t *testing.T) {
	for _, leads := range [][]clock.Time{nil, {5, 5}, {0}} {
		l := newDelayedUniverses(leads, 2, dmx.MaxRate)
		assert.Nil(t, l.lead, "%v: groups where all have the same lead", leads)
		assert.Equal(t, never, l.next(), "%v: groups where all have the same lead", leads)
	}
}
