package engine

import "tactus/clock"

// feel is at what rate effects ride on the music: their own, half or twice as
// fast. It is a feel, as half time is to a drummer: tempo and song position are
// not touched, so that cues and sections stay where they are, whoever leads the
// tempo. A change takes hold on the next beat and nothing jumps.
type feel struct {
	old, now rateMap
	from     clock.Beat // where now takes hold
}

// rateMap maps the music to where effects are: base + (b − at)·rate/2.
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

// effectBeat returns where effects are when the music is at b.
func (f *feel) effectBeat(b clock.Beat) clock.Beat {
	if b < f.from {
		return f.old.effectBeat(b)
	}
	return f.now.effectBeat(b)
}

// setRate changes the rate at a place, a beat ahead of where the music is.
func (f *feel) setRate(rate int8, at clock.Beat) {
	if rate == f.now.rate || rate == 2 && f.now.rate == 0 {
		return
	}
	if at > f.from { // else two changes within a beat: the later takes the place of the first
		f.old, f.from = f.now, at
	}
	f.now = rateMap{at: f.from, base: f.old.effectBeat(f.from), rate: rate}
}

// countedBeat is of for a song whose meter changes: where effects are in bars, or in
// beats, of the meter m at b, counted by all the meters before.
func (f *feel) countedBeat(song *Song, b clock.Beat, m Meter, bars bool) clock.Beat {
	l := &f.now
	if b < f.from {
		l = &f.old
	}
	return rateMap{song.countedBeats(l.at, m, bars), song.countedBeats(l.base, m, bars), l.rate}.effectBeat(song.countedBeats(b, m, bars))
}

// direction is -1 in half time, 1 in double time, else 0.
func (f *feel) direction() int8 {
	switch f.now.rate {
	case 1:
		return -1
	case 4:
		return 1
	}
	return 0
}

// restart begins anew at a place that is a first downbeat: effects are there too.
func (f *feel) restart(at clock.Beat) {
	rate := f.now.rate
	f.old = rateMap{at, at, rate}
	f.now, f.from = f.old, noEarliest
}

// setDownbeat makes the beat that is nearest the first of a bar, as someone taps
// it: the song moves by less than a bar, never back into an earlier section.
func (s *State) setDownbeat(p *Program, pos clock.Position) {
	t := &s.play
	heard := pos.Beat
	if pos.Playing {
		heard -= pos.Tempo.Beats(t.lead)
	}
	if t.song == None || !pos.Playing || !t.live {
		place := s.effectsPlace(p, pos)
		bars := s.shown.barRunAt(p, place)
		s.effectsOrigin += barShift(place-bars.start, bars.meter)
		return
	}
	song := &p.Songs[t.song]
	here := heard - t.origin
	from := clock.Beat(0)
	if i := song.sectionAt(max(here, t.earliest)); i != None {
		from = song.Sections[i].Start
	}
	bars := song.barRunAt(from, here)
	by := barShift(here-bars.start, bars.meter)
	t.origin += by
	if t.armed.fromNote {
		t.armed.boundary -= by // it waits for the same beat of the music, an arm for the new bar
	}
	t.soon.boundary -= by
	t.earliest = max(t.earliest, from)
}

// barShift returns how far bars have to move for the beat nearest to at to be a
// first: by half a bar at most, forward or back.
func barShift(at clock.Beat, m Meter) clock.Beat {
	beat := at.RoundTo(m.Beat())
	return beat - beat.RoundTo(m.Bar())
}
