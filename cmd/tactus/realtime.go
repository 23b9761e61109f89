package main

import (
	"runtime"
	"strings"

	"github.com/rs/zerolog"

	"tactus/clock"
)

// grant is what a system gave the loop's thread.
type grant struct {
	priority string // in words; empty when refused
	memory   bool   // locked, so that nothing is read back from a disk
	noMemory bool   // the system has no such lock, or needs none
	remedy   string // what to do about what was refused
}

// whole reports whether nothing was refused.
func (g grant) whole() bool { return g.priority != "" && (g.memory || g.noMemory) }

// words says what was got.
func (g grant) words() string {
	var list []string
	if g.priority != "" {
		list = append(list, g.priority)
	} else {
		list = append(list, "no real-time priority")
	}
	switch {
	case g.memory:
		list = append(list, "memory locked")
	case !g.noMemory:
		list = append(list, "memory not locked")
	}
	return strings.Join(list, ", ")
}

// realTime runs the loop on a thread of its own at the system's real-time
// priority. The thread ends with it, so that no other work inherits anything.
type realTime struct {
	sleeper *sleeper
	ask     bool // for priority and memory; else the thread is like any other
	log     zerolog.Logger
	got     grant // once run has begun
}

// newRealTime finds the timer; nothing is asked of the system before run.
func newRealTime(base clock.Base, ask bool, log zerolog.Logger) *realTime {
	return &realTime{sleeper: newSleeper(base), ask: ask, log: log}
}

// run runs f and returns what it returns. It logs one line about what was got.
func (r *realTime) run(f func() error) error {
	raiseThreads()
	done := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // never undone: the thread ends with this goroutine
		lower := func() {}
		if r.ask {
			lower, r.got = raise(r.spun)
		}
		r.tell()
		err := f()
		lower()
		done <- err
	}()
	return <-done
}

// tell logs what was got, and what to do about what was not.
func (r *realTime) tell() {
	switch {
	case !r.ask:
		r.log.Info().Str("timer", r.sleeper.kind).Msg("frames wake without real-time priority, as asked")
	case r.got.whole():
		r.log.Info().Str("timer", r.sleeper.kind).Str("got", r.got.words()).Msg("frames wake in real time")
	default:
		r.log.Warn().Str("timer", r.sleeper.kind).Str("got", r.got.words()).Str("remedy", r.got.remedy).
			Msg("frames may wake late when this computer is busy")
	}
}

// spun is called when the loop's thread ran on and on and lost its priority.
func (r *realTime) spun() {
	r.log.Error().Msg("the loop took all of a processor: its real-time priority is given up")
}

// raiseThreads makes room for a goroutine that wakes on time while others are
// busy: with every thread of the scheduler taken it would wait for them.
func raiseThreads() {
	if want := max(8, 2*runtime.NumCPU()); runtime.GOMAXPROCS(0) < want {
		runtime.GOMAXPROCS(want)
	}
}
