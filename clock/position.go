package clock

// Sync says how much the position can be trusted.
type Sync uint8

// The states of the tempo lock.
const (
	Free      Sync = iota // the internal clock, or taps, lead; nothing to lock to
	Acquiring             // ticks arrive, the tempo is not settled yet
	Locked                // the line fits
	Holdover              // the ticks have gone; the last tempo carries on
)

// String names the state as screens and logs print it.
func (s Sync) String() string {
	return [...]string{"free", "acquiring", "locked", "holdover"}[s&3]
}

// Source says who leads the tempo.
type Source uint8

// The sources in their order of fallback: a MIDI clock that ticks leads; with
// none, or in holdover, taps may lead; else the internal clock.
const (
	Internal Source = iota
	Tapped
	MIDI
)

// String names the source as screens and logs print it.
func (s Source) String() string {
	if s > MIDI {
		return "unknown"
	}
	return [...]string{"internal", "tap", "midi"}[s]
}

// Position is the music at one moment.
type Position struct {
	At Time
	// Beat is the song position. It stands still while the transport is
	// stopped and jumps only on Start and Locate.
	Beat Beat
	// Pulse is what effects ride on: equal to Beat while playing, running on
	// at the last tempo while stopped.
	Pulse Beat
	Tempo Tempo
	// Jumps counts Starts and Locates, so that a reader can tell a jump from
	// the passing of time.
	Jumps   uint32
	Playing bool
	Sync    Sync
	Source  Source
	// Err is about how far the beat may be off the master's, and Late how late
	// its ticks come on average, both against the earliest they can: a delay
	// that all have is not seen. They are 0 unless a MIDI clock leads or led.
	Err, Late Time
}
