//go:build unix

package main

import (
	"testing"
	"time"
)

// lateWakes is when a thread that asked to be woken every 2 ms was woken later than
// that, and by how much: what a busy machine does to any program meanwhile.
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

// between returns the latest wake from one time to another. What a program does in
// that time may be late by as much, and is the machine's doing.
func (w *lateWakes) between(from, to time.Time) (worst time.Duration) {
	for _, l := range w.list {
		if l.at.After(from) && l.at.Add(-l.by).Before(to) {
			worst = max(worst, l.by)
		}
	}
	return worst
}
