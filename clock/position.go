package clock

// Sync is the state of the tempo lock: how far the position can be trusted.
type Sync uint8

// The states of the tempo lock.
const (
	Free      Sync = iota // the internal clock or taps lead: there is nothing to lock to
	Acquiring             // ticks arrive, but the tempo is not known well yet
	Locked                // ticks arrive, and tempo and position are known
	Holdover              // the ticks have stopped; the last tempo continues
)

// String names the state as screens and logs print it.
func (s Sync) String() string {
	return [...]string{"free", "acquiring", "locked", "holdover"}[s&3]
}

// Source is what leads the tempo.
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
	// Pulse is the position that effects follow: equal to Beat while playing;
	// while stopped it continues at the last tempo.
	Pulse Beat
	Tempo Tempo
	// Jumps counts Starts and Locates, so that a reader can tell a jump from
	// the passing of time.
	Jumps   uint32
	Playing bool
	Sync    Sync
	Source  Source
	// Err is how far the beat may be off that of the MIDI clock's sender: 19 in 20
	// errors are smaller. Late is how late ticks arrive on average. Both are measured
	// from the earliest ticks: a delay that all ticks share cannot be seen. They are 0
	// unless the source is MIDI.
	Err, Late Time
}
