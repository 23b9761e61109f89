package engine

import "tactus/clock"

// feel is at what rate effects ride on the music: their own, half or twice as
// fast. It is a feel, as half time is to a drummer: tempo and song position are
// not touched, so that cues and sections stay where they are, whoever leads the
// tempo. A change takes hold on the next beat and nothing jumps.
type feel struct {
	old, now leg
	from     clock.Beat // where now takes hold
}

// leg maps the music to where effects are: base + (b − at)·rate/2.
type leg struct {
	at, base clock.Beat
	rate     int8 // in halves: 1, 2, 4; 0 counts as 2
}

func (l leg) of(b clock.Beat) clock.Beat {
	if l.rate == 0 || l.rate == 2 {
		return b - l.at + l.base
	}
	return l.base + (b-l.at)*clock.Beat(l.rate)/2
}

// of returns where effects are when the music is at b.
func (f *feel) of(b clock.Beat) clock.Beat {
	if b < f.from {
		return f.old.of(b)
	}
	return f.now.of(b)
}

// set changes the rate at a place, a beat ahead of where the music is.
func (f *feel) set(rate int8, at clock.Beat) {
	if rate == f.now.rate || rate == 2 && f.now.rate == 0 {
		return
	}
	if at > f.from { // else two changes within a beat: the later takes the place of the first
		f.old, f.from = f.now, at
	}
	f.now = leg{at: f.from, base: f.old.of(f.from), rate: rate}
}

// counted is of for a song whose meter changes: where effects are in bars, or in
// beats, of the meter m at b, counted by all the meters before.
func (f *feel) counted(song *Song, b clock.Beat, m Meter, bars bool) clock.Beat {
	l := &f.now
	if b < f.from {
		l = &f.old
	}
	return leg{song.counted(l.at, m, bars), song.counted(l.base, m, bars), l.rate}.of(song.counted(b, m, bars))
}

// name is -1 in half time, 1 in double time, else 0.
func (f *feel) name() int8 {
	switch f.now.rate {
	case 1:
		return -1
	case 4:
		return 1
	}
	return 0
}

// settle begins anew at a place that is a first downbeat: effects are there too.
func (f *feel) settle(at clock.Beat) {
	rate := f.now.rate
	f.old = leg{at, at, rate}
	f.now, f.from = f.old, noFloor
}

// downbeat makes the beat that is nearest the first of a bar, as someone taps
// it: the song moves by less than a bar, never back into an earlier section.
func (s *State) downbeat(p *Program, pos clock.Position) {
	t := &s.play
	heard := pos.Beat
	if pos.Playing {
		heard -= pos.Tempo.Beats(t.ahead)
	}
	if t.song == None || !pos.Playing || !t.live {
		place := s.ride(p, pos)
		bars := s.shown.stretchAt(p, place)
		s.anchor += turnOf(place-bars.start, bars.meter)
		return
	}
	song := &p.Songs[t.song]
	here := heard - t.origin
	from := clock.Beat(0)
	if i := song.sectionAt(max(here, t.floor)); i != None {
		from = song.Sections[i].Start
	}
	bars := song.stretchAt(from, here)
	by := turnOf(here-bars.start, bars.meter)
	t.origin += by
	if t.armed.note {
		t.armed.at -= by // it waits for the same beat of the music, an arm for the new bar
	}
	t.floor = max(t.floor, from)
}

// turnOf returns how far bars have to move for the beat nearest to at to be a
// first: by half a bar at most, forward or back.
func turnOf(at clock.Beat, m Meter) clock.Beat {
	beat := at.RoundTo(m.Beat())
	return beat - beat.RoundTo(m.Bar())
}
