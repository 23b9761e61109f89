package live

import (
	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
)

// hearing logs how the clock comes in, when that has changed and has stood.
type hearing struct {
	told, seen tone
	looks      int // that saw it
	bars       int32
}

// tone is how a clock comes in, and what it costs.
type tone struct {
	feed  clock.Feed
	level inwords.Level
}

// stands is how many looks, a second apart, something has to stand to be told.
const stands = 3

// look takes the next snapshot and logs what is new. A clock that is lost, and one
// that has just come, is logged elsewhere.
func (h *hearing) look(s *engine.Snapshot, log zerolog.Logger) {
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
	now := tone{a.Feed, inwords.LevelOf(a, p)}
	if now != h.seen {
		h.seen, h.looks = now, 0
	}
	if h.looks++; h.looks < stands || now == h.told {
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
