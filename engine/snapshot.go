package engine

import (
	"sync"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// Status is the present state of the show. Songs, sections and cues are indexes.
type Status struct {
	Song      int32      // None while a look outside songs shows
	Place     int        // in the set list, of the song last chosen; -1 before the first
	Section   int32      // of the song, or None
	Cue       int32      // of the song, or None
	Look      string     // name of the present look
	Beat      clock.Beat // in the song
	Armed     int32      // armed section, or None
	ArmedAt   clock.Beat // in the song
	ByHand    bool       // the section was armed by hand: notes for its beat change nothing
	Held      bool
	Blackout  bool
	Grand     float64 // level of the grand master, 0..1
	Unknown   uint64  // commands that named something the show lacks
	Lost      uint64  // things in use that an edited show lacks
	Pass      int     // which time the section is played, from 1; 0 outside sections
	Energy    int8    // of the section in this pass, 0..10; 0 outside sections
	SongArmed int32   // song that starts at the next boundary, or waits, or None
	SongWaits bool    // SongArmed was asked for by a program change, and waits: see doc.go
	Programs  ProgramStatus
	Work      bool // work light
	Overrides int  // that act, house lights included
	Feel      int8 // -1: half time, 1: double time
	Waves     WavePlace
	Limiter   LimiterStatus
	InForce   *Cue                       // the cue in force; nil: none, or the program no longer has it; read-only
	Masters   [MaxGroups]float64         // levels of the groups' masters, 0..1
	Levels    [MaxOverrides]Level        // overrides of groups; entries of Amount 0 are unused
	Inputs    [MaxLevelInputs]InputState // by Program.LevelInputs
	House     Level                      // the house lights' override
}

// Level is the present state of an override.
type Level struct {
	Group  int32 // index into Program.Groups
	Param  fixtures.Param
	Level  float64 // 0..1
	Amount float64 // share of the level that it sets, 0..1; the show's level sets the rest
}

// Status returns where the show stood at the last frame, at pos.
func (e *Engine) Status(pos clock.Position) Status {
	p := &e.play
	s := Status{
		Limiter: e.limiter.status,
		ByHand:  p.armed.section != None && p.armed.byHand, SongArmed: p.armed.song, Programs: e.programs, Work: e.workFade.goal > 0, Overrides: e.overrides.active(pos.At), Feel: e.feel.direction(), Waves: e.wavePlace(pos),
		Song: p.song, Place: p.setListIndex, Section: None, Cue: p.cue, Armed: p.armed.section, ArmedAt: p.armed.boundary,
		Held: e.held, Blackout: e.masters.blackout, Grand: e.masters.all.levelAt(pos.At), Unknown: e.unknownCommands, Lost: e.lost,
	}
	if p.armed.song == None && p.programSong != None {
		s.SongArmed, s.SongWaits = p.programSong, true
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
		s.Levels[i] = e.overrides.list[i].state(pos.At)
	}
	for i := range e.levelInputs[:min(len(e.levelInputs), MaxLevelInputs)] {
		s.Inputs[i] = e.levelInputs[i].inputState(pos.At)
	}
	s.House = e.overrides.house.state(pos.At)
	if p.song != None {
		song := &e.prog.Songs[p.song]
		s.Beat = p.songBeat(pos)
		if i := song.sectionAt(s.Beat); p.live && i != None {
			s.Section, s.Pass = i, p.pass()
			s.Energy = song.Sections[i].EnergyIn(s.Pass)
		}
	}
	return s
}

// Health counts what the loop sent and what failed, and rates the clock that comes
// in.
type Health struct {
	Frames    uint64         // sent
	Missed    uint64         // skipped because a whole period had passed
	Late      clock.Time     // how late the last frame woke
	WorstAt   clock.Time     // how late the worst frame since the last snapshot woke
	Errors    uint64         // of outputs
	LastErr   error          // the last of them; nil while all is well
	LastGood  clock.Time     // when every output last took a frame
	Arrivals  clock.Arrivals // how the clock came in, up to the last frame
	BarOffset BarOffset      // of the DAW's bars against those counted
}

// Snapshot is a copy of the last frame, for screens and logs.
type Snapshot struct {
	Program   *Program // whose indexes these are
	Pos       clock.Position
	Status    Status
	Health    Health
	Heads     []fixtures.State
	Universes []dmx.Universe
}

// board holds the last frame's copy. The loop writes it, others read it.
type board struct {
	mu       sync.Mutex
	last     Snapshot
	requests copyRequests
	shift    clock.Time // from the times of the loop's Base to those of the show
}

// post stores a copy, unless a reader holds the lock: light never waits for a
// screen.
func (b *board) post(e *Engine, pos clock.Position, h *Health) {
	b.requests.serve(e, pos)
	h.WorstAt = max(h.WorstAt, h.Late) // until it is read
	if !b.mu.TryLock() {
		return
	}
	worst := max(b.last.Health.WorstAt, h.WorstAt)
	b.last = Snapshot{
		Program: e.prog, Pos: pos, Status: e.Status(pos), Health: *h,
		Heads: append(b.last.Heads[:0], e.sentLight...), Universes: append(b.last.Universes[:0], e.universes...),
	}
	b.last.Pos.At -= b.shift
	b.last.Health.WorstAt, h.WorstAt = worst, 0
	b.mu.Unlock()
}

func (b *board) read(dst *Snapshot) {
	b.mu.Lock()
	defer b.mu.Unlock()
	heads := append(dst.Heads[:0], b.last.Heads...)
	universes := append(dst.Universes[:0], b.last.Universes...)
	*dst = b.last
	dst.Heads, dst.Universes = heads, universes
	b.last.Health.WorstAt = 0
}
