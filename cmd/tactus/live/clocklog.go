package live

import (
	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
)

// clockLog logs how the clock comes in, once a change has lasted.
type clockLog struct {
	told, seen clockState
	looks      int   // in a row that saw it
	bars       int32 // ticks that the DAW's bars are off, as logged
}

// clockState is how a clock comes in, and what it costs.
type clockState struct {
	feed  clock.Feed
	level inwords.Level
}

// looksNeeded is for how many looks, a second apart, a change has to last.
const looksNeeded = 3

// update takes the next snapshot and logs what is new. A clock that is lost or has
// just come is logged by logTrouble.
func (h *clockLog) update(s *engine.Snapshot, log zerolog.Logger) {
	if bars := s.Health.BarOffset; bars.Ticks != h.bars {
		h.bars = bars.Ticks
		if bars.Ticks != 0 {
			log.Warn().Int32("ticks", bars.Ticks).Msg(string(inwords.AppendBars(nil, bars.By, int(bars.Notes))))
		}
	}
	a, p := &s.Health.Arrivals, &s.Pos
	if p.Source != clock.MIDI || p.Sync != clock.Locked || a.Feed == clock.Learning {
		h.looks = 0
		return
	}
	now := clockState{a.Feed, inwords.LevelOf(a, p)}
	if now != h.seen {
		h.seen, h.looks = now, 0
	}
	if h.looks++; h.looks < looksNeeded || now == h.told {
		return
	}
	h.told = now
	w := inwords.Of(a, p)
	e := log.Info()
	if w.Level == inwords.Grave {
		e = log.Warn()
	}
	if w.Help != "" {
		e = e.Str("help", w.Help)
	}
	e.Msg(w.Long)
}
