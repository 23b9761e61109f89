package realtime

import (
	"runtime"
	"strings"

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

// Thread runs the loop on a thread of its own at the system's real-time
// priority. The thread ends with it, so that no other work inherits anything.
type Thread struct {
	Sleeper *Sleeper
	ask     bool // for priority and memory; else the thread is like any other
	log     zerolog.Logger
	Got     Grant // once run has begun
}

// NewThread finds the timer; nothing is asked of the system before run.
func NewThread(base clock.Base, ask bool, log zerolog.Logger) *Thread {
	return &Thread{Sleeper: NewSleeper(base), ask: ask, log: log}
}

// Run runs f and returns what it returns. It logs one line about what was got.
func (r *Thread) Run(f func() error) error {
	raiseThreads()
	done := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // never undone: the thread ends with this goroutine
		lower := func() {}
		if r.ask {
			lower, r.Got = Raise(r.spun)
		}
		r.tell()
		err := f()
		lower()
		done <- err
	}()
	return <-done
}

// tell logs what was got, and what to do about what was not.
func (r *Thread) tell() {
	switch {
	case !r.ask:
		r.log.Info().Str("timer", r.Sleeper.Kind).Msg("frames wake without real-time priority, as asked")
	case r.Got.Whole():
		r.log.Info().Str("timer", r.Sleeper.Kind).Str("got", r.Got.String()).Msg("frames wake in real time")
	default:
		r.log.Warn().Str("timer", r.Sleeper.Kind).Str("got", r.Got.String()).Str("remedy", r.Got.Remedy).
			Msg("frames may wake late when this computer is busy")
	}
}

// spun is called when the loop's thread ran on and on and lost its priority.
func (r *Thread) spun() {
	r.log.Error().Msg("the loop took all of a processor: its real-time priority is given up")
}

// raiseThreads makes room for a goroutine that wakes on time while others are
// busy: with every thread of the scheduler taken it would wait for them.
func raiseThreads() {
	if want := max(8, 2*runtime.NumCPU()); runtime.GOMAXPROCS(0) < want {
		runtime.GOMAXPROCS(want)
	}
}
