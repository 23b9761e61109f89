package engine

import "tactus/clock"

// PlannedTempo returns the planned tempo of the song that is selected when the
// transport is at a beat, or 0 without one. A song that has not begun stands at
// its first downbeat.
func (e *Engine) PlannedTempo(beat clock.Beat) clock.Tempo {
	if e.play.song == None {
		return 0
	}
	return e.prog.Songs[e.play.song].tempoAfter(e.tempoChangesBy(beat))
}

// tempoChangesBy returns how many changes of tempo have been there. What lies behind
// the boundary of what is armed, or the end of a section that goes round, is not
// played.
func (e *Engine) tempoChangesBy(beat clock.Beat) int32 {
	p := &e.play
	if p.song == None || !p.live {
		return 0
	}
	song := &e.prog.Songs[p.song]
	here := max(beat-p.origin, p.earliest)
	if p.armed.section != None {
		here = min(here, p.armed.boundary-1)
	}
	if p.section != None {
		if s := &song.Sections[p.section]; s.Loop {
			here = min(here, s.Start+s.Length-1)
		}
	}
	return song.tempoChangesBy(here)
}

// plannedEvent returns what the score has the tempo be where the transport stands, and
// its next change: the clock's event of that kind, without a time. While nothing is
// chosen it is the tempo of the song that comes next.
func (e *Engine) plannedEvent(pos clock.Position) clock.Event {
	p := &e.play
	ev := clock.Event{Kind: clock.Planned}
	if p.song == None {
		if next := int(p.place) + 1; next >= 0 && next < len(e.prog.SetList) {
			ev.Tempo = e.prog.Songs[e.prog.SetList[next]].Tempo
		}
		return ev
	}
	song := &e.prog.Songs[p.song]
	n := e.tempoChangesBy(pos.Beat)
	ev.Tempo = song.tempoAfter(n)
	if int(n) >= len(song.Tempos) || !p.live {
		return ev
	}
	at := song.Tempos[n].At
	if p.armed.section != None && at >= p.armed.boundary {
		return ev // it may not be played on to there
	}
	if p.section != None {
		if s := &song.Sections[p.section]; s.Loop && at >= s.Start+s.Length {
			return ev
		}
	}
	ev.Beat, ev.Next = p.origin+at, song.Tempos[n].Tempo
	return ev
}

// announceTempo tells the clock what the score plans, whenever that is another thing.
func (f *frames) announceTempo(now clock.Time) {
	ev := f.engine.plannedEvent(f.clock.At(now))
	if ev == f.announced {
		return
	}
	f.announced = ev
	ev.At = now
	f.handleEvent(ev, now)
}

// followScore gives the tempo of a song that was chosen to the internal clock, and
// each change of tempo in it. The clock takes a tempo up a little later than it
// is told, so that a change that is to come is told ahead and falls on its beat.
func (f *frames) followScore(now clock.Time) {
	f.announceTempo(now)
	e := f.engine
	p := &e.play
	if p.song == None {
		return
	}
	pos := f.clock.At(now + f.clock.Ahead())
	changes := e.tempoChangesBy(pos.Beat)
	if p.song == f.tempoSong && changes == f.tempoChanges {
		return
	}
	at := now
	if p.song == f.tempoSong && changes == f.tempoChanges+1 {
		on := p.origin + e.prog.Songs[p.song].Tempos[f.tempoChanges].At
		if to, ok := f.clock.When(on); ok && to <= now+f.clock.Ahead() {
			// Played on to it since the last frame; further back it is a jump.
			at = max(to-f.clock.Ahead(), now-2*clock.Second/clock.Time(f.rate))
		}
	}
	f.tempoSong, f.tempoChanges = p.song, changes
	f.handleEvent(clock.Event{At: at, Kind: clock.SetTempo, Tempo: e.PlannedTempo(pos.Beat)}, now)
}
