package panel_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/panel"
)

// What the loop knows of the clock and of the DAW's bars is in moments, reports
// and metrics, in the same words.
func TestClockIsTold(t *testing.T) {
	s, together := newStage(t), newStage(t)
	for _, s := range []*stage{s, together} {
		s.snap.Pos.Source, s.snap.Pos.Sync, s.snap.Pos.Err = clock.MIDI, clock.Locked, 5*clock.Millisecond
		s.snap.Health.Arrivals = clock.Arrivals{
			Feed: clock.InSteps, Every: 21333 * clock.Microsecond, Late: 10 * clock.Millisecond, Spread: 20 * clock.Millisecond,
			Unknown: 2 * clock.Millisecond, Lost: 4, Extra: 1,
		}
		s.snap.Health.BarOffset = engine.BarOffset{Ticks: -2, Notes: 3, By: -41666 * clock.Microsecond}
	}
	together.snap.Health.BarOffset = engine.BarOffset{}
	const apart = "the DAW's bars are 42 ms earlier than counted (3 notes agree): press Align bars to follow them"

	m := streamed[panel.Moment](t, s, "moment")
	assert.Equal(t, "steps", m.Feed)
	assert.Equal(t, "every 21 ms, beat within 3 ms", m.Clock)
	assert.Equal(t, apart, m.Bars)

	r := streamed[panel.Report](t, s, "report")
	assert.Equal(t, panel.Clock{
		"Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 3 ms of the DAW's, which nobody sees. So far 4 ticks got lost and 1 tick too many came; the count was put right.",
		"Nothing needs to be done. Smaller audio buffers in the DAW would be steadier.",
		"well", "steps", 21.3, 10, 20, 2, 4, 1,
	}, r.Clock)
	assert.Equal(t, panel.Bars{-2, -41.7, 3, apart}, r.Bars)

	status, body, _ := s.request(t, "GET", "/metrics", "", "")
	require.Equal(t, 200, status)
	for _, want := range []string{
		"tactus_clock_feed 4\n", "tactus_clock_step_seconds 0.021333\n", "tactus_clock_late_seconds 0.01\n", "tactus_clock_spread_seconds 0.02\n",
		"tactus_clock_unknown_seconds 0.002\n", "tactus_clock_ticks_lost_total 4\n", "tactus_clock_ticks_extra_total 1\n", "tactus_bars_later_ticks -2\n",
		"# TYPE tactus_clock_ticks_lost_total counter",
	} {
		assert.Contains(t, body, want)
	}

	assert.Empty(t, streamed[panel.Moment](t, together, "moment").Bars)
	assert.Equal(t, panel.Bars{}, streamed[panel.Report](t, together, "report").Bars)
}

// A song that a program change has armed is told apart from one that begins by itself.
func TestSongThatWaits(t *testing.T) {
	waits, begins := newStage(t), newStage(t)
	waits.snap.Status.SongArmed, waits.snap.Status.SongWaits = 1, true
	begins.snap.Status.SongArmed = 1
	m := streamed[panel.Moment](t, waits, "moment")
	assert.EqualValues(t, 1, m.ArmedSong)
	assert.True(t, m.SongWaits)
	assert.False(t, streamed[panel.Moment](t, begins, "moment").SongWaits)
}
