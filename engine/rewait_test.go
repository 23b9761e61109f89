package engine

import (
	"math/rand/v2"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// A mark's frame that comes a little short of its mark waits for it. Other
// frames do not wait, nor does one that would have to wait long.
func TestShortOfAMark(t *testing.T) {
	const mark = 4 * quarter
	to := clock.Second + 100*clock.Microsecond
	for name, c := range map[string]struct {
		adjust func(*frameGrid)
		beat   clock.Beat
		to     clock.Time
		want   bool
	}{
		"short":               {nil, mark - 1, to, true},
		"at the mark":         {nil, mark, to, false},
		"moved into the past": {nil, mark - 1, clock.Second, false},
		"far short":           {nil, mark - 1, clock.Second + maxMarkWait, false},
		"a frame before":      {func(g *frameGrid) { g.stepsLeft = 2 }, mark - 1, to, false},
		"no marks":            {func(g *frameGrid) { g.marked = false }, mark - 1, to, false},
	} {
		var g frameGrid
		g.start(-clock.Second, dmx.MaxRate)
		g.marked, g.mark, g.stepsLeft, g.at = true, mark, 1, clock.Second
		if c.adjust != nil {
			c.adjust(&g)
		}
		before := g.next()
		assert.Equal(t, c.want, g.waitsForMark(clock.Second, c.beat, c.to), name)
		after := before
		if c.want {
			after = c.to
		}
		assert.Equal(t, after, g.next(), "%s: the frame is due", name)
	}
}

// Where the clock promises less than a frame ahead, the tempo line bends under
// frames that are planned. A cue is then still at its mark, and not a frame
// late because its frame was a microsecond early.
func TestTempoBendsBeforeAMark(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const bars = 60
		c := &changes{}
		g := play(t, func(l *LoopConfig) {
			l.Engine, l.Outputs = New(barProgram(t, bars)), []Output{c}
			l.Clock = clock.NewTransport(clock.Config{Ahead: 1})
		})
		c.loop.Store(g.loop)
		g.command(Command{Kind: SelectSong, Index: 0})
		r := rand.New(rand.NewPCG(1, 1))
		// So fast that a tick comes between a beat and the frame before it.
		const period = 60 * clock.Second / 128 / 24
		for n := range clock.Time(bars * 96) {
			g.until(clock.Second + n*period + clock.Time(r.Int64N(int64(clock.Millisecond))))
			if n == 0 {
				g.event(clock.Start)
			}
			g.event(clock.Tick24)
		}
		g.end()
		require.Len(t, c.list, bars)
		for bar := 2; bar < bars; bar++ { // when the tempo is known
			pos := &c.list[bar].pos
			past := pos.Tempo.Span(pos.Beat - clock.Beat(bar)*4*quarter)
			assert.GreaterOrEqual(t, past, clock.Time(0), "bar %d", bar+1)
			assert.Less(t, past, clock.Millisecond, "bar %d", bar+1)
		}
	})
}
