package flash

import "tactus/clock"

// held is how many changes a train remembers: a second at 44 frames has no more.
const held = 48

// train remembers when changes were.
type train struct {
	total uint64
	n     int // remembered, 0..held
	head  int // where the next one goes
	worst Second
	at    [held]clock.Time
}

// add notes a change.
func (t *train) add(now clock.Time) {
	t.at[t.head] = now
	t.head = (t.head + 1) % held
	t.n = min(t.n+1, held)
	t.total++
	n, _ := t.within(now)
	if f := float64(n) / 2; f > t.worst.Flashes {
		t.worst = Second{f, now}
	}
}

// again says that the last change is going on.
func (t *train) again(now clock.Time) {
	if t.n > 0 {
		t.at[(t.head+held-1)%held] = now
	}
}

// within returns how many changes lie in the second up to now, and when the
// first of them will not. It forgets those that are over.
func (t *train) within(now clock.Time) (n int, until clock.Time) {
	for t.n > 0 {
		first := t.at[(t.head+held-t.n)%held]
		if now-first < Window {
			return t.n, first + Window
		}
		t.n--
	}
	return 0, now
}
