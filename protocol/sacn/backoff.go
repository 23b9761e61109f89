package sacn

import "tactus/clock"

const (
	minRetry = 250 * clock.Millisecond
	maxRetry = 2 * clock.Second
)

// backoff limits the rate of attempts: the first is immediate, the second a quarter
// of a second later, and the wait doubles up to two seconds.
type backoff struct {
	next, wait clock.Time
}

func (b *backoff) due(now clock.Time) bool {
	if b.wait > 0 && now < b.next {
		return false
	}
	b.wait = min(max(2*b.wait, minRetry), maxRetry)
	b.next = now + b.wait
	return true
}

// reset shortens the next wait but not the present one, so that a link that fails in
// every other frame is not opened again in every other frame.
func (b *backoff) reset() { b.wait = min(b.wait, minRetry/2) }
