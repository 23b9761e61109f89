package laptop

import (
	hdr "github.com/HdrHistogram/hdrhistogram-go"

	"tactus/clock"
)

// Probe records how late each frame wakes and how long its work takes. Only the
// loop's goroutine uses it. It allocates memory only in NewProbe.
type Probe struct {
	late, work *hdr.Histogram // nanoseconds
	woke       clock.Time     // 0 before the first wake
}

// longest is the longest time recorded; longer times are recorded as this one.
const longest = 10 * clock.Second

// NewProbe makes a probe that records 1 µs to 10 s with 3 significant figures.
func NewProbe() *Probe {
	make := func() *hdr.Histogram { return hdr.New(int64(clock.Microsecond), int64(longest), 3) }
	return &Probe{late: make(), work: make()}
}

// WorkEnded records that a frame's work ended at now.
func (p *Probe) WorkEnded(now clock.Time) {
	if p.woke != 0 {
		record(p.work, now-p.woke)
	}
	p.woke = 0
}

// FrameWoke records that a frame due at until woke at now. It ignores an early wake,
// because the loop then waits again.
func (p *Probe) FrameWoke(until, now clock.Time) {
	if now >= until {
		record(p.late, now-until)
		p.woke = now
	}
}

func record(h *hdr.Histogram, t clock.Time) {
	_ = h.RecordValue(int64(min(max(t, 0), longest))) // always in range
}

// Spread is the distribution of a time, in milliseconds.
type Spread struct {
	P50   float64 `json:"p50"`
	P99   float64 `json:"p99"`
	Worst float64 `json:"worst"`
}

func spreadOf(h *hdr.Histogram) Spread {
	return Spread{ms(h.ValueAtQuantile(50)), ms(h.ValueAtQuantile(99)), ms(h.Max())}
}

func ms(ns int64) float64 { return float64(ns/1000) / 1000 }

// Wakes returns the number of wakes recorded.
func (p *Probe) Wakes() int64 { return p.late.TotalCount() }

// Late returns how late frames woke.
func (p *Probe) Late() Spread { return spreadOf(p.late) }

// Work returns how long the work of frames took, including sending.
func (p *Probe) Work() Spread { return spreadOf(p.work) }
