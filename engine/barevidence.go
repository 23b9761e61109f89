package engine

import "tactus/clock"

// BarOffset says how the bars that are counted lie to those of the DAW.
type BarOffset struct {
	// Ticks is how many ticks of MIDI clock, 1/24 of a quarter note, the DAW's bars
	// are later than counted; below 0 they are earlier. 0: they agree, or nothing
	// speaks against it.
	Ticks int32
	Notes int32      // that agree on it
	By    clock.Time // the same at the present tempo
}

// barEvidence holds the bars that are counted against the notes by which a DAW enters
// sections. Such a note lies on a downbeat, or a little before one on purpose.
//
// It enters its section on the nearest eighth of the count, so that a beat more or
// less in the count is mended by the next note. A tick that was lost on the way is
// not: every section from then on begins a tick beside the note that enters it,
// and all cues and effects with it.
//
//	count  ┆           ┆           ┆           ┆           ┆
//	notes  ·           ·        ·           ·           ·
//	       on the beat, a habit    a tick was lost: the count is behind
//
// One note may be drawn anywhere. So three of them, of three sections, have to lie
// the same whole number of ticks off where notes lay before, or off where notes
// may be drawn.
type barEvidence struct {
	muted  bool // the DAW sends its song position, which settles the count
	placed bool // its position has come since it last played

	usualOffset clock.Beat // where notes lie: below 0 before their beat
	usualNotes  int        // how many have lain there, up to enough
	first       int32      // section of the first of them
	last        clock.Beat // where on the transport the last note lay

	ticksOff int32 // ticks that the last notes lay off the habit
	agreeing int   // how many agree
	seen     [notesToAgree]int32
}

const (
	notesToAgree  = 3 // notes of as many sections
	notesForHabit = 2 // notes of as many sections make a habit
	// drawnEarly is how early notes are drawn on purpose, as docs/night.md has it; by the
	// lead more.
	drawnEarly = 50 * clock.Millisecond
	// noteJitter is how exactly a DAW's notes come at best: they are drawn in steps of
	// about a millisecond, and each takes one on the wire (MIDI 1.0: 31,250 baud).
	noteJitter = 2 * clock.Millisecond
	// tellable is the part of a tick that a note may stray for its tick to be
	// known; from a half on it could be the next.
	tellable = 3
)

// handleTransport takes note of a transport message: with a start or a position the DAW's
// count begins anew.
func (e *barEvidence) handleTransport(k clock.Kind) {
	switch k {
	case clock.Start:
		*e = barEvidence{muted: e.placed}
	case clock.Locate:
		*e = barEvidence{muted: true, placed: true}
	case clock.Stop, clock.Continue:
		e.placed = false
	}
}

// addNote takes the note of a section that came at a beat of the transport and lay
// off beats after its downbeat as counted. Notes stray by slack and are drawn up
// to early before their beat.
func (e *barEvidence) addNote(section int32, at, off, slack, early clock.Beat) {
	if e.muted || slack > clock.Tick/tellable || e.agreeing+e.usualNotes > 0 && at-e.last < clock.Quarter {
		return // nothing can be told, or it is a chord and no further note
	}
	e.last = at
	if e.usualNotes < notesForHabit && off >= -early-slack && off <= slack {
		e.agreeing = 0
		e.learn(section, off, slack)
		return
	}
	if e.usualNotes == notesForHabit {
		off -= e.usualOffset
	}
	whole := off.RoundTo(clock.Tick)
	ticks := int32(whole / clock.Tick)
	switch miss := off - whole; {
	case max(miss, -miss) > slack:
		e.agreeing = 0
		return
	case ticks == 0:
		e.agreeing = 0
		e.usualOffset += off / 4 // it wanders a little with the clock
		return
	case ticks != e.ticksOff:
		e.ticksOff, e.agreeing = ticks, 0
	}
	for _, s := range e.seen[:e.agreeing] {
		if s == section {
			return // the same note again, in a section that goes round
		}
	}
	if e.agreeing < notesToAgree {
		e.seen[e.agreeing] = section
		e.agreeing++
	}
}

// learn looks whether notes lie where the one before did.
func (e *barEvidence) learn(section int32, off, slack clock.Beat) {
	if apart := off - e.usualOffset; e.usualNotes > 0 && max(apart, -apart) <= slack {
		if section != e.first {
			e.usualNotes, e.usualOffset = notesForHabit, e.usualOffset+apart/2
		}
		return
	}
	e.usualNotes, e.usualOffset, e.first = 1, off, section
}

// shownTicks returns how many ticks the notes have shown the DAW's bars to be later
// than counted; 0 until enough agree.
func (e *barEvidence) shownTicks() int32 {
	if e.agreeing < notesToAgree {
		return 0
	}
	return e.ticksOff
}

// barOffset returns what the notes have shown.
func (e *barEvidence) barOffset(tempo clock.Tempo) BarOffset {
	ticks := e.shownTicks()
	if ticks == 0 {
		return BarOffset{}
	}
	return BarOffset{Ticks: ticks, Notes: int32(e.agreeing), By: tempo.Span(clock.Beat(ticks) * clock.Tick)}
}

// clear forgets what was shown, for the count now agrees with it.
func (e *barEvidence) clear() { e.ticksOff, e.agreeing = 0, 0 }

// weighNote takes the note of a section as evidence, once it has been acted on.
func (l *Loop) weighNote(in *Input) {
	if in.At == 0 || in.Command.Kind != FireNote {
		return
	}
	section, on, ok := l.engine.play.noteTarget(l.engine.prog, in.Command.Index)
	pos := l.clock.At(in.At)
	if !ok || l.engine.play.handWins(pos.Beat) || !pos.Playing || pos.Source != clock.MIDI || pos.Sync != clock.Locked {
		return
	}
	slack := max(pos.Err+max(l.health.Arrivals.Spread, 3*pos.Late), noteJitter)
	l.evidence.addNote(section, pos.Beat, pos.Beat-on, pos.Tempo.Beats(slack), pos.Tempo.Beats(drawnEarly+l.lead))
}

// noteTarget returns the section of a note that was acted on, and where on the
// transport its downbeat was taken to lie.
func (p *playback) noteTarget(prog *Program, note int32) (section int32, on clock.Beat, ok bool) {
	if p.song == None {
		return None, 0, false
	}
	song := &prog.Songs[p.song]
	section = song.sectionByNote(note)
	if section == None {
		return None, 0, false
	}
	for _, a := range [...]*armed{&p.armed, &p.soon} {
		if a.fromNote && a.section == section {
			return section, p.origin + a.boundary, true
		}
	}
	return section, p.origin + song.Sections[section].Start, true
}

// alignBars moves the bars that are counted by ticks: those that come, and where
// further notes are understood to lie. The transport's next jump ends it.
func (s *State) alignBars(p *Program, ticks int32, pos clock.Position) {
	t := &s.play
	if t.song == None || !pos.Playing || !t.live || max(ticks, -ticks) > maxBarTicks {
		return
	}
	by := clock.Beat(ticks) * clock.Tick
	song := &p.Songs[t.song]
	if i := song.sectionAt(t.songBeat(pos)); i != None {
		t.earliest = max(t.earliest, song.Sections[i].Start) // it does not begin twice
	}
	t.dawDelay += by
	t.origin += by
	if t.armed.song != None {
		t.armed.boundary += by
	}
}

// maxBarTicks is the furthest that a note lies off the eighth it is understood as:
// half of one, and what a frame may add.
const maxBarTicks = 12
