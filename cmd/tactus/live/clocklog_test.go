package live

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
)

// What has changed about the clock is logged once it has stood, and once.
func TestHearing(t *testing.T) {
	var out bytes.Buffer
	log := zerolog.New(&out)
	var h clockLog
	s := engine.Snapshot{Pos: clock.Position{Source: clock.MIDI, Sync: clock.Locked, Err: clock.Millisecond}}
	type line struct{ Level, Message, Help string }
	look := func(times int) (lines []line) {
		for range times {
			h.update(&s, log)
		}
		for d := json.NewDecoder(&out); d.More(); {
			var l line
			require.NoError(t, d.Decode(&l))
			lines = append(lines, l)
		}
		out.Reset()
		return lines
	}
	assert.Empty(t, look(9), "a clock of which nothing is known and that costs nothing")
	s.Health.Arrivals = clock.Arrivals{Feed: clock.InSteps, Every: 21 * clock.Millisecond}
	s.Pos.Err = 3 * clock.Millisecond
	assert.Empty(t, look(looksNeeded-1))
	assert.Equal(t, []line{{
		"info",
		"Your DAW sends clock every 21 ms, most likely once for each audio buffer. The beat is within 3 ms of the DAW's, which nobody sees.",
		"Nothing needs to be done. Smaller audio buffers in the DAW would be steadier.",
	}}, look(9))
	s.Pos.Err = 30 * clock.Millisecond
	assert.Empty(t, look(looksNeeded-1), "for a moment")
	s.Pos.Err = 3 * clock.Millisecond
	assert.Empty(t, look(9))
	s.Pos.Err = 30 * clock.Millisecond
	lines := look(looksNeeded)
	require.Len(t, lines, 1)
	assert.Equal(t, "warn", lines[0].Level)
	assert.Contains(t, lines[0].Message, "may be off by 30 ms, and that can be seen")
	s.Pos.Sync = clock.Holdover
	assert.Empty(t, look(9), "that it is gone is logged with the sync")

	s.Health.BarOffset = engine.BarOffset{Ticks: 2, Notes: 3, By: 42 * clock.Millisecond}
	assert.Equal(t, []line{{Level: "warn", Message: "the DAW's bars are 42 ms later than counted (3 notes agree): press Align bars to follow them"}}, look(9))
	s.Health.BarOffset = engine.BarOffset{}
	assert.Empty(t, look(2))
}
