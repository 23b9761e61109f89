package realtime

import (
	"cmp"
	"runtime"

	"github.com/rs/zerolog"

	"tactus/clock"
)

// Grant is what the system granted the loop's thread.
type Grant struct {
	priority string // in words; empty when refused
	memory   bool   // locked, so that the system cannot move it to disk
	noMemory bool   // the system has no memory lock, or needs none
	Remedy   string // how to get what was refused
}

// Whole reports whether nothing was refused.
func (g Grant) Whole() bool { return g.priority != "" && (g.memory || g.noMemory) }

// String describes the grant.
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

// Thread runs the loop on its own thread with real-time priority. The thread ends
// with the loop, so that no other work gets its priority.
type Thread struct {
	Sleeper *Sleeper
	wanted  bool // request priority and locked memory; else run an ordinary thread
	log     zerolog.Logger
	Got     Grant // set when Run begins
}

// NewThread chooses the timer; Run requests priority and memory.
func NewThread(base clock.Base, ask bool, log zerolog.Logger) *Thread {
	return &Thread{Sleeper: NewSleeper(base), wanted: ask, log: log}
}

// Run runs f and returns its error. It logs one line about the grant.
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

// logGrant logs what the system granted, and how to get what it refused.
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

// logSpin logs that the loop's thread lost its priority because it computed without
// a pause.
func (r *Thread) logSpin() {
	r.log.Error().Msg("the loop took all of a processor: its real-time priority is given up")
}

// raiseThreads gives Go's scheduler more threads, so that a waking goroutine does
// not wait for busy ones.
func raiseThreads() {
	if want := max(8, 2*runtime.NumCPU()); runtime.GOMAXPROCS(0) < want {
		runtime.GOMAXPROCS(want)
	}
}
