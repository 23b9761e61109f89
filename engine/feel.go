package engine

import "tactus/clock"

// feel is the rate of effects: their own, half or double time. Tempo and song position
// stay, so that cues and sections do not move. The rate changes on the next beat,
// without a jump.
type feel struct {
	old, now rateMap
	from     clock.Beat // where old ends and now begins
}

// rateMap maps a beat b of the music to the effects' beat base + (b − at)·rate/2.
type rateMap struct {
	at, base clock.Beat
	rate     int8 // in halves: 1, 2, 4; 0 counts as 2
}

func (l rateMap) effectBeat(b clock.Beat) clock.Beat {
	if l.rate == 0 || l.rate == 2 {
		return b - l.at + l.base
	}
	return l.base + (b-l.at)*clock.Beat(l.rate)/2
}

// effectBeat returns the effects' beat when the music is at b.
func (f *feel) effectBeat(b clock.Beat) clock.Beat {
	if b < f.from {
		return f.old.effectBeat(b)
	}
	return f.now.effectBeat(b)
}

// setRate changes the rate at a place within a beat from now.
func (f *feel) setRate(rate int8, at clock.Beat) {
	if rate == f.now.rate || rate == 2 && f.now.rate == 0 {
		return
	}
	if at > f.from { // of two changes within a beat the second replaces the first
		f.old, f.from = f.now, at
	}
	f.now = rateMap{at: f.from, base: f.old.effectBeat(f.from), rate: rate}
}

// countedBeat is effectBeat for a song with changes of meter. It counts bars, or beats,
// through all meters before b, in the length that they have in the meter m at b.
func (f *feel) countedBeat(song *Song, b clock.Beat, m Meter, bars bool) clock.Beat {
	l := &f.now
	if b < f.from {
		l = &f.old
	}
	return rateMap{song.countedBeats(l.at, m, bars), song.countedBeats(l.base, m, bars), l.rate}.effectBeat(song.countedBeats(b, m, bars))
}

// direction returns -1 in half time, 1 in double time, else 0.
func (f *feel) direction() int8 {
	switch f.now.rate {
	case 1:
		return -1
	case 4:
		return 1
	}
	return 0
}

// restart makes a place in the music the same place of the effects.
func (f *feel) restart(at clock.Beat) {
	rate := f.now.rate
	f.old = rateMap{at, at, rate}
	f.now, f.from = f.old, noEarliest
}

func (f *feel) shift(by clock.Beat) {
	f.old.at += by
	f.now.at += by
	if f.from != noEarliest {
		f.from += by
	}
}

// setDownbeat moves the song so that the nearest beat is the first of a bar: by half a
// bar at most, and never back into an earlier section.
func (s *State) setDownbeat(p *Program, pos clock.Position) {
	t := &s.play
	if t.song == None || !pos.Playing || !t.live {
		place := s.effectsPlace(p, pos)
		bars := s.shown.barRunAt(p, place)
		s.effectsOrigin += barShift(place-bars.start, bars.meter)
		return
	}
	song := &p.Songs[t.song]
	here := t.musicBeat(pos) - t.origin
	from := clock.Beat(0)
	if i := song.sectionAt(max(here, t.earliest)); i != None {
		from = song.Sections[i].Start
	}
	bars := song.barRunAt(from, here)
	by := barShift(here-bars.start, bars.meter)
	t.origin += by
	if t.armed.fromNote {
		t.armed.boundary -= by // stays on its beat of the transport
	}
	t.soon.boundary -= by
	t.earliest = max(t.earliest, from)
}

// barShift returns by how much bars must move so that the beat nearest to at is the first
// beat of a bar: at most half a bar, forward or back.
func barShift(at clock.Beat, m Meter) clock.Beat {
	beat := at.RoundTo(m.Beat())
	return beat - beat.RoundTo(m.Bar())
}
