package flash

import "tactus/clock"

// maxChanges is how many changes are remembered: those of a second at 44 frames.
const maxChanges = 48

// Times remembers when the changes of one light were, those of a second. The zero Times
// remembers none.
type Times struct {
	counts [NumKinds]changeTimes
}

// Update takes what the light did at now.
func (t *Times) Update(now clock.Time, o Observed) {
	if o == (Observed{}) {
		return
	}
	for k := range t.counts {
		t.counts[k].update(now, o.complete[k], o.ongoing[k])
	}
}

// Changes returns how many changes of a kind there were in the second up to now,
// and when the first of them leaves it.
func (t *Times) Changes(k Kind, now clock.Time) (n int, until clock.Time) {
	return t.counts[k].countAt(now)
}

// Rate returns the flashes in the second up to now: half the changes.
func (t *Times) Rate(now clock.Time) Rate {
	var r Rate
	for k := range NumKinds {
		n, _ := t.counts[k].countAt(now)
		r[k] = float64(n) / 2
	}
	return r
}

// changeTimes remembers when changes of one kind were.
type changeTimes struct {
	n     int // remembered, 0..maxChanges
	head  int // index of the next one in times
	times [maxChanges]clock.Time
}

// update adds a change that is complete at now, if there is one. A change that is
// still going on moves to now.
func (t *changeTimes) update(now clock.Time, way Way, ongoing bool) {
	switch {
	case way != Level:
		t.times[t.head] = now
		t.head = (t.head + 1) % maxChanges
		t.n = min(t.n+1, maxChanges)
	case ongoing && t.n > 0:
		t.times[(t.head+maxChanges-1)%maxChanges] = now
	}
}

// countAt returns how many changes lie in the second up to now, and when the first
// of them leaves it. It forgets those that have left.
func (t *changeTimes) countAt(now clock.Time) (n int, until clock.Time) {
	for t.n > 0 {
		first := t.times[(t.head+maxChanges-t.n)%maxChanges]
		if now-first < Window {
			return t.n, first + Window
		}
		t.n--
	}
	return 0, now
}
