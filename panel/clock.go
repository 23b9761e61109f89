package panel

import (
	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
)

// Clock is how the DAW's clock comes in, in words and as measured. Times are in
// milliseconds.
type Clock struct {
	Words     string  `json:"words"`
	Help      string  `json:"help"`     // what would make it steadier, or ""
	Level     string  `json:"level"`    // what there is to do: well (nothing), remark, grave
	Feed      string  `json:"feed"`     // by what pattern ticks arrive
	EveryMS   float64 `json:"everyMs"`  // how far apart their moments lie, in steps; else 0
	LateMS    float64 `json:"lateMs"`   // how late they come on average
	SpreadMS  float64 `json:"spreadMs"` // what 19 in 20 stay below
	UnknownMS float64 `json:"unknownMs"`
	Lost      uint32  `json:"lost"` // ticks that were put in
	Extra     uint32  `json:"extra"`
}

// Bars is how the DAW's bars lie to those counted.
type Bars struct {
	Ticks int32   `json:"ticks"` // of MIDI clock that they are later; 0: they agree
	MS    float64 `json:"ms"`    // the same
	Notes int32   `json:"notes"` // that agree on it
	Words string  `json:"words"`
}

func clockOf(s *engine.Snapshot) Clock {
	a := &s.Health.Arrivals
	w := inwords.Of(a, &s.Pos)
	return Clock{
		w.Long, w.Help, w.Level.String(), a.Feed.String(),
		milliseconds(a.Every), milliseconds(a.Late), milliseconds(a.Spread), milliseconds(a.Unknown), a.Lost, a.Extra,
	}
}

func barsOf(s *engine.Snapshot) Bars {
	b := &s.Health.BarOffset
	return Bars{b.Ticks, milliseconds(b.By), b.Notes, barsWords(b)}
}

func barsWords(b *engine.BarOffset) string {
	return string(inwords.AppendBars(nil, b.By, int(b.Notes)))
}

func milliseconds(t clock.Time) float64 { return round(float64(t)/float64(clock.Millisecond), 10) }
