//go:build unix

package main

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// lateWakes is when a goroutine that asked to be woken every 2 ms was woken later than
// that, and by how much: what a busy machine does to an ordinary goroutine's timer, this
// test's own scheduler included.
type lateWakes struct {
	list []lateWake
}

type lateWake struct {
	at time.Time
	by time.Duration
}

// watchWakes records late wakes until stop is called, which returns them.
func watchWakes(t *testing.T) (stop func() *lateWakes) {
	t.Helper()
	const every = 2 * time.Millisecond
	quit, ended := make(chan struct{}), make(chan *lateWakes)
	go func() {
		var w lateWakes
		ticker := time.NewTicker(every)
		defer ticker.Stop()
		last := time.Now()
		for {
			select {
			case <-quit:
				ended <- &w
				return
			case <-ticker.C:
			}
			now := time.Now()
			if by := now.Sub(last) - every; by > time.Millisecond {
				w.list = append(w.list, lateWake{now, by})
			}
			last = now
		}
	}()
	return func() *lateWakes {
		close(quit)
		return <-ended
	}
}

// unexcused is how late a wake may be before a test allows for it.
const unexcused = 2 * time.Millisecond

// allowance returns by how much a change of light may be later because the machine was
// busy: by how much the latest wake from two frames before its moment to two frames after
// exceeds 2 ms.
func (w *lateWakes) allowance(moment time.Time) time.Duration {
	worst, from, to := unexcused, moment.Add(-2*frame), moment.Add(2*frame)
	for _, l := range w.list {
		if l.at.After(from) && l.at.Add(-l.by).Before(to) {
			worst = max(worst, l.by)
		}
	}
	return worst - unexcused
}

// median returns the middle of some times, the later one of two.
func median(list []time.Duration) time.Duration {
	if len(list) == 0 {
		return 0
	}
	return slices.Sorted(slices.Values(list))[len(list)/2]
}

// Only what exceeds 2 ms is allowed for, of wakes within two frames of the moment.
func TestAllowanceForLateWakes(t *testing.T) {
	const ms = time.Millisecond
	moment := time.Unix(1000, 0)
	for _, c := range []struct{ woken, by, want time.Duration }{ // woken: after the moment
		{0, 2 * ms, 0},
		{0, 5 * ms, 3 * ms},
		{-40 * ms, 5 * ms, 3 * ms},
		{-46 * ms, 9 * ms, 0},
		{48 * ms, 5 * ms, 3 * ms}, // it was due 43 ms after the moment
		{60 * ms, 5 * ms, 0},
	} {
		w := lateWakes{[]lateWake{{moment.Add(c.woken), c.by}}}
		assert.Equal(t, c.want, w.allowance(moment), "woken after %v, late by %v", c.woken, c.by)
	}
	assert.Zero(t, (&lateWakes{}).allowance(moment))
	assert.Equal(t, 3*ms, median([]time.Duration{9 * ms, ms, 3 * ms}))
	assert.Equal(t, 3*ms, median([]time.Duration{3 * ms, ms}))
}
