package clock

// Lead is the choice of which source may lead the tempo.
type Lead uint8

// LeadAuto picks the source by the order in the package documentation. The others use
// one source only and ignore what else arrives.
const (
	LeadAuto Lead = iota
	LeadMIDI
	LeadTap
	LeadInternal
)

// Config is what a Transport is built from. Its zero value is ready to use.
type Config struct {
	// Internal is the tempo until a source gives one; 0 means 120 BPM. It is
	// limited to MinTempo..MaxTempo.
	Internal Tempo
	// Lead is the source that may lead the tempo.
	Lead Lead
	// Ahead is how far after the last event the callers of At ask for positions.
	// Corrections begin that much later, so that no caller sees the beat step
	// back. 0 means 50 ms; it is limited to 0..250 ms.
	Ahead Time
}

// Limits of times; those outside are set to the limit.
const (
	maxTime  Time = 1 << 56 // two years and a quarter
	maxAhead      = 250 * Millisecond
)

const (
	startWait = 500 * Millisecond // how long a Start waits for its tick
	recently  = Second            // a clock that ticked within this time is expected to tick again
	holdAfter = 3                 // holdover begins after this many missing ticks
	holdExtra = 100 * Millisecond // and this much more time, which a stalled queue may add
)

// A Transport turns events into a musical position. It reads no clock and
// allocates nothing; the same events give the same positions. One goroutine
// owns it. At and When change nothing.
type Transport struct {
	lead     Lead
	internal Tempo
	ahead    Time
	now      Time // when the last event came

	source Source
	tempo  Tempo // tempo of the leading source
	glide  glide // the pulse, which is the beat while playing
	lock   lock
	base   float64 // the pulse at MIDI tick 0, in Beats
	ticked bool    // a MIDI tick has come since the port was last lost
	lost   bool    // the port was lost, and no tick has come since
	taps   tapper
	plan   plan

	playing      bool
	startPending bool // the next tick starts it
	early        bool // started without a tick, which may still come
	located      bool // pos was set by a Locate or a Start
	jump         bool // a Locate while playing waits for the next tick
	startAskedAt Time // when the Start, Continue or Locate came that waits for a tick
	pos          Beat // the position while stopped
	next         Beat // the beat of the next tick, while a start is pending, stopped or waiting to jump
	jumps        uint32
}

// NewTransport returns a stopped Transport at beat 0, its pulse running at the
// internal tempo from Time 0.
func NewTransport(c Config) *Transport {
	t := &Transport{lead: c.Lead, internal: 120_000_000, ahead: 50 * Millisecond}
	if c.Internal != 0 {
		t.internal = inRange(c.Internal)
	}
	if c.Ahead != 0 {
		t.ahead = min(max(c.Ahead, 0), maxAhead)
	}
	t.now = -maxTime
	t.tempo = t.internal
	t.glide.jump(0, 0, rateOf(t.tempo))
	t.lock.restart(0, periodOf(t.tempo))
	return t
}

// Ahead returns how long after an event its corrections begin: Config.Ahead.
func (t *Transport) Ahead() Time { return t.ahead }

func inRange(t Tempo) Tempo { return min(max(t, MinTempo), MaxTempo) }

// rateOf returns a tempo in Beats a nanosecond.
func rateOf(t Tempo) float64 { return float64(t) * (float64(Quarter) / 60e15) }

// Handle takes one event. Events come in the order of their stamps; one that
// is stamped before the last counts as arriving with it.
func (t *Transport) Handle(e Event) {
	at := max(min(max(e.At, -maxTime), maxTime), t.now)
	t.now = at
	if due := at - t.ahead; t.overdue(due) || e.Kind == Tick24 && t.overdue(at) {
		t.beginWithoutTick(t.startAskedAt)
	}
	switch e.Kind {
	case Tick24:
		t.tick(at)
	case Start:
		t.pos, t.located = 0, true
		t.jumps++
		t.prepareStart(at)
	case Continue:
		if !t.playing && !t.startPending {
			t.prepareStart(at)
		}
	case Stop:
		t.stop(at)
	case Locate:
		t.locate(at, Beat(min(max(e.Sixteenths, 0), 16383))*Sixteenth)
	case Tap:
		t.tap(at)
	case SetTempo:
		t.internal = inRange(e.Tempo)
		if t.lead != LeadMIDI && !t.ticking(at) || t.source == Internal {
			t.follow(at, Internal, t.internal)
		}
	case Lost:
		t.lost, t.ticked = true, false
	case Planned:
		t.plan = plan{tempo: e.Tempo, at: e.Beat, next: e.Next}
		if e.Tempo != 0 {
			t.plan.tempo = inRange(e.Tempo)
		}
		if e.Next != 0 {
			t.plan.next = inRange(e.Next)
		}
	case Halve:
		t.scaleTempo(at, t.tempo/2)
	case Double:
		t.scaleTempo(at, t.tempo*2)
	}
}

// At returns the position at a moment, which may lie ahead of the last event.
func (t *Transport) At(at Time) Position {
	at = min(max(at, -maxTime), maxTime)
	pulse := Beat(roundToInt(t.glide.at(at)))
	p := Position{
		At: at, Beat: t.pos, Pulse: pulse, Tempo: t.tempo, Jumps: t.jumps,
		Playing: t.playing, Sync: t.sync(at), Source: t.source,
	}
	switch {
	case t.overdue(at - t.ahead): // the next event will begin it, but the position shows it already
		from := t.pos
		if t.jump {
			from = t.next
			p.Jumps++
		}
		p.Playing = true
		p.Beat = from + t.tempo.Beats(at-t.startAskedAt)
		p.Pulse = p.Beat
	case t.playing:
		p.Beat = pulse
	}
	if t.source == MIDI {
		p.Late = t.lock.meanLateness()
		astray := (t.glide.at(at) - t.target(at)) / rateOf(t.tempo)
		p.Err = Time(min(t.lock.errAt(at)+max(astray, -astray), float64(maxTime)))
	}
	return p
}

// When returns the first moment at which At reports beat b or later, as things
// stand. It returns false while stopped, and for moments out of range.
func (t *Transport) When(b Beat) (Time, bool) {
	if !t.playing {
		return 0, false
	}
	return t.glide.when(float64(b) - 0.5)
}

// roundToInt rounds halves up, the same on every processor.
func roundToInt(x float64) int64 {
	n := int64(x)
	if float64(n) > x { // towards minus infinity first
		n--
	}
	if x-float64(n) >= 0.5 {
		n++
	}
	return n
}
