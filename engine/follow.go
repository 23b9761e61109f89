package engine

import "tactus/clock"

// PlannedTempo returns the chosen song's tempo, in quarter notes a minute, when the
// transport is at a beat; 0 without a song. Before a song begins it is that of its
// first downbeat.
func (e *Engine) PlannedTempo(beat clock.Beat) clock.Tempo {
	if e.play.song == None {
		return 0
	}
	return e.prog.Songs[e.play.song].tempoAfter(e.tempoChangesBy(beat))
}

// tempoChangesBy returns how many changes of tempo lie at or before the place where
// the song is when the transport is at a beat. It expects no repeat of a loop.
func (e *Engine) tempoChangesBy(beat clock.Beat) int32 {
	if e.play.song == None || !e.play.live {
		return 0
	}
	song := &e.prog.Songs[e.play.song]
	place, next, _ := e.play.expectedPlace(song, beat)
	if next != None && e.play.armed.section == None && e.play.soon.section == None { // a loop, which a command may end
		place = song.Sections[next].Start + song.Sections[next].Length - 1
	}
	return song.tempoChangesBy(place)
}

// expectedPlace returns the place in the song when the transport is at a beat, if no
// further command comes: an armed section starts at its boundary, a looping one
// repeats. next is the section that has started so by then, at the transport's beat
// on; else None.
func (p *playback) expectedPlace(song *Song, beat clock.Beat) (place clock.Beat, next int32, on clock.Beat) {
	place = max(beat-p.origin, p.earliest)
	for _, a := range [...]*armed{&p.soon, &p.armed} {
		if a.dueAt(place) {
			return song.Sections[a.section].Start + place - a.boundary, a.section, p.origin + a.boundary
		}
	}
	if p.section != None {
		s := &song.Sections[p.section]
		if over := place - (s.Start + s.Length); s.Loop && s.Length > 0 && over >= 0 {
			place = s.Start + over%s.Length
			return place, p.section, beat - over%s.Length
		}
	}
	return place, None, 0
}

// plannedEvent returns the tempo that the score has at a position, and the next
// change of tempo that is certain to be played: an event of kind clock.Planned, without a
// time. While no song is chosen, it has the tempo of the next song in the set list.
func (e *Engine) plannedEvent(pos clock.Position) clock.Event {
	p := &e.play
	ev := clock.Event{Kind: clock.Planned}
	if p.song == None {
		if next := p.setListIndex + 1; next < len(e.prog.SetList) {
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
	beat := p.origin + song.Tempos[n].At
	if _, next, _ := p.expectedPlace(song, beat); next == None {
		ev.Beat, ev.Next = beat, song.Tempos[n].Tempo
	}
	return ev
}

// announceTempo tells the clock what the score plans, when that changes.
func (f *frames) announceTempo(now clock.Time) {
	ev := f.engine.plannedEvent(f.clock.At(now))
	if ev == f.announced {
		return
	}
	f.announced = ev
	ev.At = now
	f.handleEvent(ev, now)
}

// followScore gives the internal clock the tempo of the chosen song, and each change of
// tempo in it. A tempo takes effect clock.Transport.Ahead after it is given, so a change
// is given that much early and takes effect on its beat.
func (f *frames) followScore(now clock.Time) {
	f.announceTempo(now)
	e, ahead := f.engine, f.clock.Ahead()
	p := &e.play
	if p.song == None {
		return
	}
	pos := f.clock.At(now + ahead)
	changes := e.tempoChangesBy(pos.Beat)
	if p.song == f.tempoSong && changes == f.tempoChanges {
		return
	}
	at := now
	if p.song == f.tempoSong {
		song := &e.prog.Songs[p.song]
		_, next, on := p.expectedPlace(song, pos.Beat)
		played := next != None
		if !played && changes == f.tempoChanges+1 {
			on, played = p.origin+song.Tempos[f.tempoChanges].At, true
		}
		// The music has reached this change since the last frame. Other changes are
		// caused by a command or a jump of the transport, and take effect from now on.
		if to, ok := f.clock.When(on); ok && played && to <= now+ahead {
			at = max(to-ahead, now-2*clock.Second/clock.Time(f.rate))
		}
	}
	f.tempoSong, f.tempoChanges = p.song, changes
	f.handleEvent(clock.Event{At: at, Kind: clock.SetTempo, Tempo: e.PlannedTempo(pos.Beat)}, now)
}

// noteTempo takes note of an event at a time that followScore has given to the clock, before
// the clock has it, so that a loop which goes on from here does not give it again.
func (f *frames) noteTempo(ev *clock.Event, now clock.Time) {
	switch ev.Kind {
	case clock.Planned:
		f.announced = *ev
		f.announced.At = 0
	case clock.SetTempo:
		if song := f.engine.play.song; song != None {
			f.tempoSong, f.tempoChanges = song, f.engine.tempoChangesBy(f.clock.At(now+f.clock.Ahead()).Beat)
		}
	}
}
