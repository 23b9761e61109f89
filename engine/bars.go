package engine

import (
	"sort"

	"tactus/clock"
)

// MeterChange is a change of meter, at a bar line of its section. The quarter note
// keeps its length.
type MeterChange struct {
	At    clock.Beat // from the song's first downbeat; above 0
	Meter Meter
}

// TempoChange is a planned change of tempo. A MIDI clock that leads has its own.
type TempoChange struct {
	At    clock.Beat // from the song's first downbeat; above 0
	Tempo clock.Tempo
}

// barRun is a run of bars of one meter.
type barRun struct {
	start, end clock.Beat // end is noMark after the last change
	meter      Meter
	bars       int64 // from where bars are counted to start
}

// next returns the first multiple of step after at, counted from the start of the
// run, or the run's end.
func (r *barRun) next(at, step clock.Beat) clock.Beat {
	return min(r.start+(at-r.start).FloorTo(step)+step, r.end)
}

// barRunAt returns the bars around a place, counted from a bar line.
func (s *Song) barRunAt(from, at clock.Beat) barRun {
	r := barRun{start: from, end: noMark, meter: s.Meter}
	for i := range s.Meters {
		switch c := &s.Meters[i]; {
		case c.At <= from:
			r.meter = c.Meter
		case c.At <= at:
			bar := r.meter.Bar()
			r.bars += int64((c.At - r.start).CeilTo(bar) / bar)
			r.start, r.meter = c.At, c.Meter
		default:
			r.end = c.At
			return r
		}
	}
	return r
}

// MeterAt returns the meter at a place; before the song that of its start.
func (s *Song) MeterAt(at clock.Beat) Meter {
	return s.meterAfter(sort.Search(len(s.Meters), func(i int) bool { return s.Meters[i].At > at }))
}

// BarAt returns the number of the bar around a place, from 0, where it begins and its
// meter. Bars count from the start of the section; after the song from its end, and
// before it from its first downbeat, below 0.
func (s *Song) BarAt(at clock.Beat) (bar int64, start clock.Beat, m Meter) {
	from, _ := s.barsAround(at)
	r := s.barRunAt(from, at)
	start = r.start + (at - r.start).FloorTo(r.meter.Bar())
	return r.bars + int64((start-r.start)/r.meter.Bar()), start, r.meter
}

// BarStart returns where a bar begins, counted from 0 from a place such as the
// start of a section.
func (s *Song) BarStart(from clock.Beat, bar int64) clock.Beat {
	r := s.barRunAt(from, from)
	for {
		at := r.start + clock.Beat(bar-r.bars)*r.meter.Bar()
		if at < r.end {
			return at
		}
		r = s.barRunAt(from, r.end)
	}
}

// SectionBars returns how many whole bars a section has.
func (s *Song) SectionBars(section int32) int64 {
	c := &s.Sections[section]
	end := c.Start + c.Length
	r := s.barRunAt(c.Start, max(c.Start, end-1))
	return r.bars + int64((end-r.start)/r.meter.Bar())
}

// NextBar returns the first bar line after a place, or the end of its section.
func (s *Song) NextBar(at clock.Beat) clock.Beat { return s.nextUnit(at, true) }

// NextBeat returns the first beat after a place, or the end of its section.
func (s *Song) NextBeat(at clock.Beat) clock.Beat { return s.nextUnit(at, false) }

func (s *Song) nextUnit(at clock.Beat, bars bool) clock.Beat {
	start, end := s.barsAround(at)
	r := s.barRunAt(start, at)
	return min(r.next(at, r.meter.unitLength(bars)), end)
}

// BeatsUntil returns how many beats begin at or after a place and before another.
func (s *Song) BeatsUntil(at, to clock.Beat) int64 { return s.unitsUntil(at, to, false) }

// BarsUntil returns how many bars, the last maybe incomplete, lie between two places.
func (s *Song) BarsUntil(at, to clock.Beat) int64 { return s.unitsUntil(at, to, true) }

func (s *Song) unitsUntil(at, to clock.Beat, bars bool) (n int64) {
	for r := s.barRunAt(0, at); at < to; r = s.barRunAt(0, at) {
		unit, end := r.meter.unitLength(bars), min(r.end, to)
		n += int64((end - at).CeilTo(unit) / unit)
		at = end
	}
	return n
}

// PlaceAfter returns the place a length after from, or before it when Num is below 0.
// Each beat and bar on the way counts by its own meter.
func (s *Song) PlaceAfter(from clock.Beat, l Length) clock.Beat {
	i := sort.Search(len(s.Meters), func(i int) bool { return s.Meters[i].At > from })
	if l.Num < 0 { // at a change, the meter before it counts
		i = sort.Search(len(s.Meters), func(i int) bool { return s.Meters[i].At >= from })
	}
	m := s.meterAfter(i)
	left := l.In(m)
	for left > 0 && i < len(s.Meters) && from+left > s.Meters[i].At {
		left -= s.Meters[i].At - from
		from = s.Meters[i].At
		left = scaled(left, m.unitLength(l.Bars), s.Meters[i].Meter.unitLength(l.Bars))
		m = s.Meters[i].Meter
		i++
	}
	for left < 0 && i > 0 && from+left < s.Meters[i-1].At {
		left += from - s.Meters[i-1].At
		from = s.Meters[i-1].At
		i--
		left = scaled(left, m.unitLength(l.Bars), s.meterAfter(i).unitLength(l.Bars))
		m = s.meterAfter(i)
	}
	return from + left
}

func (s *Song) meterAfter(i int) Meter {
	if i == 0 {
		return s.Meter
	}
	return s.Meters[i-1].Meter
}

// countedBeats returns how many bars, or beats, lie between the song's first downbeat
// and a place, times the length of one in m. Effects count by it, so that they
// restart with every bar of a new meter.
func (s *Song) countedBeats(at clock.Beat, m Meter, bars bool) (sum clock.Beat) {
	start, of, to := clock.Beat(0), s.Meter, m.unitLength(bars)
	for i := range s.Meters {
		c := &s.Meters[i]
		if c.At > at {
			break
		}
		sum += scaled(c.At-start, of.unitLength(bars), to)
		start, of = c.At, c.Meter
	}
	return sum + scaled(at-start, of.unitLength(bars), to)
}

func (m Meter) unitLength(bars bool) clock.Beat {
	if bars {
		return m.Bar()
	}
	return m.Beat()
}

// scaled returns b·to/of without overflow for lengths of bars and beats.
func scaled(b, of, to clock.Beat) clock.Beat { return b/of*to + b%of*to/of }

// noteGrid returns the finest noteGrid of the song's meters.
func (s *Song) noteGrid() clock.Beat {
	g := noteGrid(s.Meter)
	for i := range s.Meters {
		g = min(g, noteGrid(s.Meters[i].Meter))
	}
	return g
}

// TempoAt returns the planned tempo at a place, in quarter notes a minute; before the
// song that of its first downbeat.
func (s *Song) TempoAt(at clock.Beat) clock.Tempo { return s.tempoAfter(s.tempoChangesBy(at)) }

// tempoChangesBy returns how many changes of tempo lie at or before a place.
func (s *Song) tempoChangesBy(at clock.Beat) int32 {
	return int32(sort.Search(len(s.Tempos), func(i int) bool { return s.Tempos[i].At > at }))
}

func (s *Song) tempoAfter(n int32) clock.Tempo {
	if n == 0 {
		return s.Tempo
	}
	return s.Tempos[n-1].Tempo
}

// TimeAt returns when a place is reached, counted from the song's first downbeat, if
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

// BeatAt returns the place that is reached at a time: the inverse of TimeAt.
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
