package flash

import "tactus/clock"

// maxChanges is how many changes a train remembers: a second at 44 frames has no more.
const maxChanges = 48

// changeTimes remembers when changes were.
type changeTimes struct {
	total uint64
	n     int // remembered, 0..held
	head  int // where the next one goes
	worst Second
	times [maxChanges]clock.Time
}

// record notes a change.
func (t *changeTimes) record(now clock.Time) {
	t.times[t.head] = now
	t.head = (t.head + 1) % maxChanges
	t.n = min(t.n+1, maxChanges)
	t.total++
	n, _ := t.countAt(now)
	if f := float64(n) / 2; f > t.worst.Flashes {
		t.worst = Second{f, now}
	}
}

// postpone says that the last change is going on.
func (t *changeTimes) postpone(now clock.Time) {
	if t.n > 0 {
		t.times[(t.head+maxChanges-1)%maxChanges] = now
	}
}

// countAt returns how many changes lie in the second up to now, and when the
// first of them will not. It forgets those that are over.
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
