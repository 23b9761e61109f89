package engine

import (
	"slices"

	"tactus/clock"
)

// BarOffset is the distance of the DAW's bars from the bars counted here.
type BarOffset struct {
	// Ticks is how much later the DAW's bars are than counted, in ticks of MIDI clock
	// (1/24 of a quarter note); negative: earlier. 0: they agree, or nothing is known.
	Ticks int32
	Notes int32      // number of notes that show it
	By    clock.Time // Ticks at the present tempo
}

// barEvidence compares the count of bars with the notes by which a DAW enters
// sections. Such a note lies on a downbeat, or is drawn a little before one.
//
// A section starts on the eighth of the count that is nearest to its note, which
// corrects a count that is whole beats off. It does not correct a lost tick of the
// clock: every section after it starts a tick away from its note.
//
//	count  ┆           ┆           ┆           ┆           ┆
//	notes  ·           ·        ·           ·           ·
//	       the usual offset: 0     a tick was lost: the count is behind
//
// A single note may be drawn anywhere. There is evidence only when the notes of three
// sections are off by the same whole number of ticks: from their usual offset, or from
// the range in which notes are drawn.
type barEvidence struct {
	muted  bool // the DAW sends its song position, so that no evidence is needed
	placed bool // a song position has come since the last stop

	usualOffset clock.Beat // distance of notes from their downbeat; negative: before it
	usualNotes  int        // number of notes at that distance, up to notesForHabit
	first       int32      // section of the first of those notes
	last        clock.Beat // the transport's beat at the last note

	ticksOff int32               // distance of the last notes from the usual offset, in ticks
	agreeing int                 // number of notes in a row at that distance
	seen     [notesToAgree]int32 // sections of those notes
}

const (
	notesToAgree  = 3
	notesForHabit = 2
	// drawnEarly is how early notes may be drawn (docs/night.md), besides the lead.
	drawnEarly = 50 * clock.Millisecond
	// noteJitter is the smallest jitter of notes: they are drawn in steps of about a
	// millisecond, and a note takes a millisecond on the wire (MIDI 1.0: 31,250 baud).
	noteJitter = 2 * clock.Millisecond
	// tickShare: notes whose jitter is above 1/tickShare of a tick are no evidence, as
	// they may belong to the next tick.
	tickShare = 3
	// maxBarTicks is the largest distance of a note from its eighth, in ticks: half an
	// eighth, and what a frame may add.
	maxBarTicks = 12
)

// handleTransport follows a transport message: a start or a song position restarts the
// count.
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

// addNote adds the note of a section that came at a beat of the transport, off beats
// after its downbeat as counted. Notes jitter by slack, and are drawn up to early
// before their downbeat.
func (e *barEvidence) addNote(section int32, at, off, slack, early clock.Beat) {
	if e.muted || slack > clock.Tick/tickShare || e.agreeing+e.usualNotes > 0 && at-e.last < clock.Quarter {
		return // no evidence, or another note of the same chord
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
		e.usualOffset += off / 4 // it drifts with the clock
		return
	case ticks != e.ticksOff:
		e.ticksOff, e.agreeing = ticks, 0
	}
	if e.agreeing < notesToAgree && !slices.Contains(e.seen[:e.agreeing], section) {
		e.seen[e.agreeing] = section
		e.agreeing++
	}
}

// learn makes the offset of a note the usual one if the note before had it too.
func (e *barEvidence) learn(section int32, off, slack clock.Beat) {
	if apart := off - e.usualOffset; e.usualNotes > 0 && max(apart, -apart) <= slack {
		if section != e.first {
			e.usualNotes, e.usualOffset = notesForHabit, e.usualOffset+apart/2
		}
		return
	}
	e.usualNotes, e.usualOffset, e.first = 1, off, section
}

// shownTicks returns BarOffset.Ticks; 0 until enough notes agree.
func (e *barEvidence) shownTicks() int32 {
	if e.agreeing < notesToAgree {
		return 0
	}
	return e.ticksOff
}

func (e *barEvidence) barOffset(tempo clock.Tempo) BarOffset {
	ticks := e.shownTicks()
	if ticks == 0 {
		return BarOffset{}
	}
	return BarOffset{Ticks: ticks, Notes: int32(e.agreeing), By: tempo.Span(clock.Beat(ticks) * clock.Tick)}
}

// clear drops the evidence, after the count was corrected.
func (e *barEvidence) clear() { e.ticksOff, e.agreeing = 0, 0 }

// weighNote adds the note of a section to the evidence, after the engine has done it. It
// came at a time; 0: it is no evidence. Ticks of the clock have been late by up to spread.
func (f *frames) weighNote(e *barEvidence, c *Command, came, spread clock.Time) {
	if came == 0 || c.Kind != FireNote {
		return
	}
	section, on, ok := f.engine.play.noteTarget(f.engine.prog, c.Index)
	pos := f.clock.At(came)
	if !ok || f.engine.play.handWins(pos.Beat) || !pos.Playing || pos.Source != clock.MIDI || pos.Sync != clock.Locked {
		return
	}
	slack := max(pos.Err+max(spread, 3*pos.Late), noteJitter)
	e.addNote(section, pos.Beat, pos.Beat-on, pos.Tempo.Beats(slack), pos.Tempo.Beats(drawnEarly+f.lead))
}

// noteTarget returns the section that a note has entered, and the transport's beat at
// its downbeat as counted.
func (p *playback) noteTarget(prog *Program, note int32) (section int32, on clock.Beat, ok bool) {
	if p.song == None || p.armed.song != None {
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

// alignBars moves the bars by ticks, and the grid that notes are rounded to. The
// transport's next jump ends it.
func (s *State) alignBars(p *Program, ticks int32, pos clock.Position) {
	t := &s.play
	if t.song == None || !pos.Playing || !t.live || max(ticks, -ticks) > maxBarTicks {
		return
	}
	by := clock.Beat(ticks) * clock.Tick
	song := &p.Songs[t.song]
	if i := song.sectionAt(t.songBeat(pos)); i != None {
		t.earliest = max(t.earliest, song.Sections[i].Start) // it does not start twice
	}
	t.dawDelay += by
	t.origin += by
	if t.armed.song != None {
		t.armed.boundary += by
	}
}
