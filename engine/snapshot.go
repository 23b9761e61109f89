package engine

import (
	"sync"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Status says in indexes where the show stands.
type Status struct {
	Song     int32      // None while a look of its own shows
	Place    int        // in the set list, of the song last chosen; -1 before the first
	Section  int32      // of the song, or None
	Cue      int32      // of the song, or None
	Look     string     // name of the look in force
	Beat     clock.Beat // in the song
	Armed    int32      // section that waits, or None
	ArmedAt  clock.Beat // in the song
	ByHand   bool       // a hand armed the section: notes for its beat change nothing
	Held     bool
	Blackout bool
	Grand    float64
	Unknown  uint64 // commands that named something the show lacks
	Lost     uint64 // things in use that a revision of the show lacks
	// Pass is which time the section is played, from 1, and Energy how strong it
	// is then; both 0 outside.
	Pass      int
	Energy    int8
	SongArmed int32 // song that waits for its boundary, or None
	Work      bool  // work light
	Overrides int   // held by hand, the house lights among them
	Feel      int8  // -1: half time, 1: double time
	Limiter   LimiterStatus
	InForce   *Cue                // the cue in force; nil: none, or the program no longer has it; read-only
	Masters   [MaxGroups]float64  // where the masters of groups stand, 0..1
	Levels    [MaxOverrides]Level // what is held by hand in groups; those of Amount 0 are free
	House     Level               // likewise of the house lights
}

// Level is an override as it stands.
type Level struct {
	Group  int32 // index into Program.Groups
	Param  fixtures.Param
	Level  float64 // 0..1
	Amount float64 // how far it has taken over, 0..1
}

// Status reports where the show stood at the last frame.
func (e *Engine) Status(pos clock.Position) Status {
	p := &e.play
	s := Status{
		Limiter: e.limiter.status,
		ByHand:  p.armed.section != None && p.armed.byHand, SongArmed: p.armed.song, Work: e.workFade.goal > 0, Overrides: e.overrides.active(pos.At), Feel: e.feel.direction(),
		Song: p.song, Place: p.place, Section: None, Cue: p.cue, Armed: p.armed.section, ArmedAt: p.armed.boundary,
		Held: e.held, Blackout: e.masters.blackout, Grand: e.masters.grand(pos.At), Unknown: e.unknownCommands, Lost: e.lost,
	}
	if e.cue != nil {
		s.Look = e.cue.Name
		if e.lostEffects == nil {
			s.InForce = e.cue
		}
	}
	for i := range s.Masters {
		s.Masters[i] = e.masters.groups[i].levelAt(pos.At)
	}
	for i := range s.Levels {
		s.Levels[i] = e.overrides.list[i].stands(pos.At)
	}
	s.House = e.overrides.house.stands(pos.At)
	if p.song != None {
		s.Beat = p.songBeat(pos)
		if p.live {
			s.Section = e.prog.Songs[p.song].sectionAt(s.Beat)
			if s.Section != None {
				s.Pass = p.pass()
				s.Energy = e.prog.Songs[p.song].Sections[s.Section].EnergyIn(s.Pass)
			}
		}
	}
	return s
}

// Health counts what the loop did and what went wrong, and says how good what came
// in was.
type Health struct {
	Frames    uint64         // sent
	Missed    uint64         // skipped because a whole period had passed
	Late      clock.Time     // how late the last frame woke
	WorstAt   clock.Time     // how late the worst frame since the last snapshot woke
	Errors    uint64         // of outputs
	LastErr   error          // the last of them; nil while all is well
	LastGood  clock.Time     // when every output last took a frame
	Arrivals  clock.Arrivals // how the clock came in, up to the last frame
	BarOffset BarOffset      // how the DAW's bars lie to those counted
}

// Snapshot is a copy of the last frame for those who look on.
type Snapshot struct {
	Program   *Program // whose indexes these are
	Pos       clock.Position
	Status    Status
	Health    Health
	Heads     []fixtures.State
	Universes []dmx.Universe
}

// board is where the loop leaves a copy when nobody is reading it.
type board struct {
	mu       sync.Mutex
	last     Snapshot
	requests *copyRequest
}

// post leaves a copy unless a reader is busy: light never waits for a screen.
func (b *board) post(e *Engine, pos clock.Position, h *Health) {
	h.WorstAt = max(h.WorstAt, h.Late) // until a reader has had it
	if !b.mu.TryLock() {
		return
	}
	b.last.Program = e.prog
	b.last.Pos = pos
	b.last.Status = e.Status(pos)
	worst := max(b.last.Health.WorstAt, h.WorstAt)
	b.last.Health = *h
	b.last.Health.WorstAt = worst
	h.WorstAt = 0
	copy(b.last.Heads, e.sentLight)
	copy(b.last.Universes, e.universes)
	b.serveRequest(e, pos)
	b.mu.Unlock()
}

// read copies the last snapshot into dst, reusing its slices.
func (b *board) read(dst *Snapshot) {
	b.mu.Lock()
	defer b.mu.Unlock()
	heads := append(dst.Heads[:0], b.last.Heads...)
	universes := append(dst.Universes[:0], b.last.Universes...)
	*dst = b.last
	dst.Heads, dst.Universes = heads, universes
	b.last.Health.WorstAt = 0
}
