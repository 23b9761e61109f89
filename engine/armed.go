package engine

import "tactus/clock"

// armed is a section or song that starts at a boundary. At most one of the two is
// not None.
type armed struct {
	section  int32
	song     int32
	boundary clock.Beat // in the present song; of an armed song, on the transport
	when     When
	fromNote bool // by a note or program change that came early, within Program.Window
	byHand   bool // by a command that is not a section's note: such notes do not replace it
}

func (a *armed) clear() { a.section, a.song = None, None }

// disarm lets nothing wait any longer.
func (p *playback) disarm() {
	p.armed.clear()
	p.soon.clear()
	p.handEntry = noEarliest
}

// handWins reports whether a note for a beat of the transport changes nothing,
// because a section that was armed by hand is entered there, or was just now.
func (p *playback) handWins(at clock.Beat) bool {
	near := func(b clock.Beat) bool { return at > b-p.noteGrid && at < b+p.noteGrid }
	return near(p.handEntry) || p.armed.section != None && p.armed.byHand && near(p.origin+p.armed.boundary)
}

// confirmWindow: a request to enter a section, up to this long before or after the
// section starts by plan, means that start. A DAW's note comes up to a frame and some
// jitter late; a hand misses a beat by some 100 ms (common practice, no source).
const confirmWindow = 150 * clock.Millisecond

// confirmSection reports whether a request at pos to enter a section only confirms the
// plan: the section has just begun, or is planned next and about to begin. It is then not
// entered a second time: its pass, cues and effects continue.
func (p *playback) confirmSection(song *Song, section int32, byHand bool, pos clock.Position) bool {
	if !pos.Playing || !p.live || p.settlesAtStart {
		return false
	}
	s := &song.Sections[section]
	window := pos.Tempo.Beats(confirmWindow)
	past := p.musicBeat(pos) - p.origin - s.Start
	began, begins := max(past, -past) <= window, past < 0 && past >= -window
	if section == p.section {
		return began || s.Loop && past < s.Length && past >= s.Length-window
	}
	if !begins || section != p.section+1 {
		return false
	}
	p.armSoon(armed{section: section, song: None, boundary: s.Start, fromNote: true, byHand: byHand})
	return true
}

// armSoon arms a section for a note that came a little early. If a section is armed by
// hand, that one stays armed too.
func (p *playback) armSoon(a armed) {
	if p.armed.section != None && p.armed.byHand {
		p.soon = a
		return
	}
	p.armed = a
}

// armSection arms a section for the next boundary after pos. Bars count from the start
// of the present section. The end of that section is a boundary even inside a bar.
func (p *playback) armSection(song *Song, section int32, when When, phrase int64, byHand bool, pos clock.Position) {
	here := p.songBeat(pos)
	start, end := song.barsAround(here)
	bars := song.barRunAt(start, here)
	at := bars.next(here, bars.meter.Bar())
	switch when {
	case NextBeat:
		at = bars.next(here, bars.meter.Beat())
	case NextPhrase:
		bar := bars.bars + int64((here-bars.start).FloorTo(bars.meter.Bar())/bars.meter.Bar())
		at = song.BarStart(start, floorTo(bar, phrase)+phrase)
	}
	if at > end || when == SectionEnd && here < song.Length() {
		at = min(end, song.Length())
	}
	p.armed = armed{section: section, song: None, boundary: at, when: when, byHand: byHand}
}

// dueAt reports whether a place in the song is at or after the boundary.
func (a *armed) dueAt(here clock.Beat) bool { return a.section != None && here >= a.boundary }

// enterDue enters an armed section at its boundary, and a looping one again at its end.
func (p *playback) enterDue(song *Song, pos clock.Position) {
	if !pos.Playing {
		return
	}
	if p.soon.dueAt(p.songBeat(pos)) {
		p.enterAt(&song.Sections[p.soon.section], p.origin+p.soon.boundary)
	}
	if a := p.armed; a.dueAt(p.songBeat(pos)) {
		at := p.origin + a.boundary
		p.armed.clear()
		p.enterAt(&song.Sections[a.section], at)
		if a.byHand {
			p.handEntry = at
		}
	}
	if _, next, on := p.expectedPlace(song, pos.Beat); next != None {
		p.enterAt(&song.Sections[next], on)
	}
}
