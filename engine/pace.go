package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// pace makes frames at a plain rate. Deadlines are absolute, so that late wakes do not
// add up. A frame that is late by a whole period is skipped and counted.
//
// No second may hold more than 44 frames: at exactly 44 a second, a late frame and a
// punctual one 44 frames later would make 45. So a frame waits until the 44th before it
// is a second old, and all deadlines after it move by the same.
type pace struct {
	base  clock.Time
	n     int64 // number of the next frame since base
	rate  int64
	times [dmx.MaxRate]clock.Time // when the last 44 frames were sent
	i     int                     // index of the oldest
}

func (p *pace) start(now clock.Time, rate int) {
	*p = pace{base: now, rate: int64(rate)}
	for i := range p.times {
		p.times[i] = now - clock.Second
	}
}

func (p *pace) due() clock.Time { return p.base + clock.Time(p.n*int64(clock.Second)/p.rate) }

func (p *pace) next() clock.Time { return max(p.due(), p.notBefore()) }

// notBefore returns when the 44th frame before the next is a second old.
func (p *pace) notBefore() clock.Time { return p.times[p.i] + clock.Second }

func (p *pace) period() clock.Time { return clock.Second / clock.Time(p.rate) }

// takeFrame takes the next frame at now and returns how many were missed before it.
func (p *pace) takeFrame(now clock.Time) (missed uint64) {
	p.base += p.next() - p.due()
	for now >= p.due()+p.period() {
		p.n++
		missed++
	}
	p.n++
	return missed
}

func (p *pace) recordSent(now clock.Time) {
	p.times[p.i] = now
	p.i = (p.i + 1) % len(p.times)
}
