package realtime

import (
	"cmp"
	"runtime"

	"github.com/rs/zerolog"

	"tactus/clock"
)

// Grant is what a system gave the loop's thread.
type Grant struct {
	priority string // in words; empty when refused
	memory   bool   // locked, so that nothing is read back from a disk
	noMemory bool   // the system has no such lock, or needs none
	Remedy   string // what to do about what was refused
}

// Whole reports whether nothing was refused.
func (g Grant) Whole() bool { return g.priority != "" && (g.memory || g.noMemory) }

// String says what was got.
func (g Grant) String() string {
	text := cmp.Or(g.priority, "no real-time priority")
	switch {
	case g.memory:
		text += ", memory locked"
	case !g.noMemory:
		text += ", memory not locked"
	}
	return text
}

// Thread runs the loop on a thread of its own at the system's real-time
// priority. The thread ends with it, so that no other work inherits anything.
type Thread struct {
	Sleeper *Sleeper
	wanted  bool // for priority and memory; else the thread is like any other
	log     zerolog.Logger
	Got     Grant // once run has begun
}

// NewThread finds the timer; nothing is asked of the system before run.
func NewThread(base clock.Base, ask bool, log zerolog.Logger) *Thread {
	return &Thread{Sleeper: NewSleeper(base), wanted: ask, log: log}
}

// Run runs f and returns what it returns. It logs one line about what was got.
func (r *Thread) Run(f func() error) error {
	raiseThreads()
	done := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // never undone: the thread ends with this goroutine
		lower := func() {}
		if r.wanted {
			lower, r.Got = Raise(r.logSpin)
		}
		r.logGrant()
		err := f()
		lower()
		done <- err
	}()
	return <-done
}

// logGrant logs what the system granted, and what to do about what it refused.
func (r *Thread) logGrant() {
	switch {
	case !r.wanted:
		r.log.Info().Str("timer", r.Sleeper.Kind).Msg("frames wake without real-time priority, as asked")
	case r.Got.Whole():
		r.log.Info().Str("timer", r.Sleeper.Kind).Str("got", r.Got.String()).Msg("frames wake in real time")
	default:
		r.log.Warn().Str("timer", r.Sleeper.Kind).Str("got", r.Got.String()).Str("remedy", r.Got.Remedy).
			Msg("frames may wake late when this computer is busy")
	}
}

// logSpin is called when the loop's thread computed without a pause and has lost its
// priority.
func (r *Thread) logSpin() {
	r.log.Error().Msg("the loop took all of a processor: its real-time priority is given up")
}

// raiseThreads gives Go's scheduler more threads, so that a goroutine that wakes does
// not wait for busy ones.
func raiseThreads() {
	if want := max(8, 2*runtime.NumCPU()); runtime.GOMAXPROCS(0) < want {
		runtime.GOMAXPROCS(want)
	}
}
