package engine

import (
	"sync"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// LevelBox holds the latest levels of a level input for a Loop: new levels replace
// those that the loop has not taken, so that no amount of them delays commands. A
// receiver puts, the loop takes before each frame.
type LevelBox struct {
	mu     sync.Mutex
	latest InputLevels
	put    bool // levels were put
	fresh  bool // since the loop last took them
}

// Put replaces the levels. With present false the source is gone and levels is not
// looked at; it may be nil.
func (b *LevelBox) Put(present bool, levels *[dmx.Slots]byte) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.latest.Present = present
	if present {
		b.latest.Levels = *levels
	}
	b.put, b.fresh = true, true
}

// take copies levels that are new, and returns false if there are none. It waits for
// nobody: if they are just being put, they come with the next frame.
func (b *LevelBox) take(to *InputLevels) bool {
	if b == nil || !b.mu.TryLock() {
		return false
	}
	defer b.mu.Unlock()
	if !b.fresh {
		return false
	}
	*to = b.latest
	to.Changed = AllSlots()
	b.fresh = false
	return true
}

// refresh has the loop take the levels again.
func (b *LevelBox) refresh() {
	if b == nil {
		return
	}
	b.mu.Lock()
	b.fresh = b.put
	b.mu.Unlock()
}

// takeLevels gives the engine the levels that have come in, and records what changed:
// at most one record an input and frame.
func (l *Loop) takeLevels(now clock.Time) {
	for i, b := range l.config.Levels {
		if !b.take(&l.levels) {
			continue
		}
		l.levels.Input = int32(i)
		if l.engine.TakeLevels(&l.levels, l.clock.At(now+l.lead)) {
			l.config.Journal.Append(&Record{Kind: RecordLevels, At: now, Levels: l.levels})
		}
	}
}

// refreshLevels takes all levels again, with the next frame: the show that plays now may use
// other slots, or have had other levels.
func (l *Loop) refreshLevels() {
	for _, b := range l.config.Levels {
		b.refresh()
	}
}
