package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// pace is the plain rate: it says when the next frame is due. Deadlines are absolute, so that late
// wakes do not add up; a frame that is late by a whole period is skipped and
// counted.
//
// No second may hold more than 44 frames, whatever the wakes do: at exactly 44
// a second, a late frame followed 44 frames on by a punctual one would squeeze
// 45 into a second. So a frame also waits until the 44th before it is a whole
// second old, and the grid moves with it: a late frame shifts those that follow
// once, instead of leaving an uneven place that comes round every second.
type pace struct {
	base  clock.Time
	n     int64 // frames due since base
	rate  int64
	times [dmx.MaxRate]clock.Time // when each of the last 44 frames had gone out
	i     int
}

func (p *pace) start(now clock.Time, rate int) {
	*p = pace{base: now, rate: int64(rate)}
	for i := range p.times {
		p.times[i] = now - clock.Second
	}
}

// due is where frame n lies on the grid.
func (p *pace) due() clock.Time { return p.base + clock.Time(p.n*int64(clock.Second)/p.rate) }

// next returns when the next frame may go.
func (p *pace) next() clock.Time { return max(p.due(), p.notBefore()) }

// notBefore returns before when no frame may go: the 44th before it is a second old.
func (p *pace) notBefore() clock.Time { return p.times[p.i] + clock.Second }

// period returns the shortest step between frames.
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

// recordSent notes when the frame had gone out.
func (p *pace) recordSent(now clock.Time) {
	p.times[p.i] = now
	p.i = (p.i + 1) % len(p.times)
}
