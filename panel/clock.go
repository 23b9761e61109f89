package panel

import (
	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
)

// Clock describes how the DAW's MIDI clock arrives. Times are in milliseconds.
type Clock struct {
	Words     string  `json:"words"`
	Help      string  `json:"help"`     // how to make it steadier, or ""
	Level     string  `json:"level"`    // how bad it is: well (nothing to do), remark, grave
	Feed      string  `json:"feed"`     // pattern in which ticks arrive
	EveryMS   float64 `json:"everyMs"`  // step between arrivals, for ticks that arrive in steps; else 0
	LateMS    float64 `json:"lateMs"`   // mean delay of the ticks
	SpreadMS  float64 `json:"spreadMs"` // 19 of 20 ticks are within this
	UnknownMS float64 `json:"unknownMs"`
	Lost      uint32  `json:"lost"` // ticks that were missing
	Extra     uint32  `json:"extra"`
}

// Bars is the offset between the DAW's bars and the bars counted here.
type Bars struct {
	Ticks int32   `json:"ticks"` // how much later the DAW's bars are, in MIDI clock ticks; 0: no offset
	MS    float64 `json:"ms"`    // the same in milliseconds
	Notes int32   `json:"notes"` // number of notes that show this offset
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
