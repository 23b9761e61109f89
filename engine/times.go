package engine

import "tactus/clock"

// TempoAt returns the planned tempo at a place, in quarter notes a minute;
// before the song that of its start.
func (s *Song) TempoAt(at clock.Beat) clock.Tempo { return s.tempoAfter(s.tempoChangesBy(at)) }

// tempoChangesBy returns how many changes of tempo lie at or before a place.
func (s *Song) tempoChangesBy(at clock.Beat) int32 {
	n := int32(0)
	for i := range s.Tempos {
		if s.Tempos[i].At > at {
			break
		}
		n++
	}
	return n
}

// tempoAfter returns the tempo after n changes.
func (s *Song) tempoAfter(n int32) clock.Tempo {
	if n == 0 {
		return s.Tempo
	}
	return s.Tempos[n-1].Tempo
}

// TimeAt returns when a place is reached, from the song's first downbeat, when
// it is played as planned. Before the song it is below 0.
func (s *Song) TimeAt(at clock.Beat) clock.Time {
	var t clock.Time
	from, tempo := clock.Beat(0), s.Tempo
	for i := range s.Tempos {
		c := &s.Tempos[i]
		if c.At > at {
			break
		}
		t += tempo.Span(c.At - from)
		from, tempo = c.At, c.Tempo
	}
	return t + tempo.Span(at-from)
}

// BeatAt returns the place that is reached at a time from the song's first
// downbeat when it is played as planned: TimeAt turned round.
func (s *Song) BeatAt(t clock.Time) clock.Beat {
	from, tempo := clock.Beat(0), s.Tempo
	for i := range s.Tempos {
		c := &s.Tempos[i]
		span := tempo.Span(c.At - from)
		if span > t {
			break
		}
		t -= span
		from, tempo = c.At, c.Tempo
	}
	return from + tempo.Beats(t)
}
