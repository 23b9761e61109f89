package engine

import (
	"math"
	"slices"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// delayedUniverses sends the frames again, later, to universes with less lead than the
// longest.
//
//	frames      0   1   2   3   4        rendered and sent, lead 60 ms
//	            └─30 ms─┐
//	group           0   1   2   3   4    sent, lead 30 ms
type delayedUniverses struct {
	lead    []bool // marks the universes with the longest lead; nil: all
	groups  []delayGroup
	longest clock.Time // delay
	ring    []keptFrame
	count   int64 // number of the next frame to keep, as in Health.Frames
}

// delayGroup is the universes with the same lead.
type delayGroup struct {
	delay clock.Time
	due   []bool
	next  clock.Time // when frame n may be sent, or never
	n     int64      // number of the next frame to send
	pace  pace       // limits its frames to 44 a second
}

// keptFrame is a frame that some groups have not sent yet.
type keptFrame struct {
	due       clock.Time
	universes []dmx.Universe
}

const never = clock.Time(math.MaxInt64)

func longest(leads []clock.Time) clock.Time {
	return slices.Max(append([]clock.Time{0}, leads...))
}

// newDelayedUniverses groups universes by lead; beyond the end of leads it is 0.
func newDelayedUniverses(leads []clock.Time, universes, rate int) delayedUniverses {
	l := delayedUniverses{}
	most := longest(leads)
	by := map[clock.Time][]bool{}
	for u := range universes {
		delay := most
		if u < len(leads) {
			delay -= max(leads[u], 0)
		}
		if by[delay] == nil {
			by[delay] = make([]bool, universes)
		}
		by[delay][u] = true
	}
	if len(by) < 2 && by[0] != nil || universes == 0 {
		return l
	}
	l.lead = by[0]
	if l.lead == nil {
		l.lead = make([]bool, universes)
	}
	delete(by, 0)
	for delay, due := range by {
		g := delayGroup{delay: delay, due: due, next: never}
		g.pace.start(-clock.Second, rate)
		l.groups = append(l.groups, g)
		l.longest = max(l.longest, delay)
	}
	slices.SortFunc(l.groups, func(a, b delayGroup) int { return int(a.delay - b.delay) })
	l.ring = make([]keptFrame, int(l.longest*clock.Time(rate)/clock.Second)+3)
	for i := range l.ring {
		l.ring[i].universes = make([]dmx.Universe, universes)
	}
	return l
}

// nextGroup returns the group that sends next, or nil.
func (l *delayedUniverses) nextGroup() *delayGroup {
	var first *delayGroup
	for i := range l.groups {
		if g := &l.groups[i]; g.next != never && (first == nil || g.next < first.next) {
			first = g
		}
	}
	return first
}

// next returns when a group sends next, or never.
func (l *delayedUniverses) next() clock.Time {
	if g := l.nextGroup(); g != nil {
		return g.next
	}
	return never
}

func (l *delayedUniverses) keepFrame(due clock.Time, u []dmx.Universe) {
	if len(l.groups) == 0 {
		return
	}
	k := l.frameAt(l.count)
	k.due = due
	copy(k.universes, u)
	l.count++
	for i := range l.groups {
		g := &l.groups[i]
		g.n = max(g.n, l.count-int64(len(l.ring)))
		if g.next == never {
			l.schedule(g)
		}
	}
}

// startAt makes n the number of the next frame to keep, and forgets the frames before it.
func (l *delayedUniverses) startAt(n uint64) {
	l.count = int64(n)
	for i := range l.groups {
		l.groups[i].n, l.groups[i].next = l.count, never
	}
}

// groupAt returns the group with a delay, which goes to frame n; nil if it has none that is
// kept under that number and not sent yet.
func (l *delayedUniverses) groupAt(delay clock.Time, n uint64) *delayGroup {
	for i := range l.groups {
		if g := &l.groups[i]; g.delay == delay && int64(n) >= g.n && int64(n) < l.count {
			g.n = int64(n)
			return g
		}
	}
	return nil
}

func (l *delayedUniverses) frameAt(n int64) *keptFrame { return &l.ring[n%int64(len(l.ring))] }

// schedule sets when a group may send its next frame.
func (l *delayedUniverses) schedule(g *delayGroup) {
	g.next = never
	if g.n < l.count {
		g.next = max(l.frameAt(g.n).due+g.delay, g.pace.notBefore())
	}
}

// skipToDue goes to the newest frame that is due, and returns how many it skipped.
func (l *delayedUniverses) skipToDue(g *delayGroup, now clock.Time) (missed uint64) {
	for g.n+1 < l.count && l.frameAt(g.n+1).due+g.delay <= now {
		g.n++
		missed++
	}
	return missed
}

// universes returns the frame to send.
func (l *delayedUniverses) universes(g *delayGroup) []dmx.Universe { return l.frameAt(g.n).universes }

func (l *delayedUniverses) recordSent(g *delayGroup, now clock.Time) {
	g.pace.recordSent(now)
	g.n++
	l.schedule(g)
}
