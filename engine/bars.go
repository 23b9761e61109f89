package engine

import (
	"sort"

	"tactus/clock"
)

// MeterChange says from where on another meter holds: a bar line of the section
// that it lies in. The quarter note keeps its length.
type MeterChange struct {
	At    clock.Beat // from the song's first downbeat; above 0
	Meter Meter
}

// TempoChange says from where on another tempo is planned. A MIDI clock that
// leads has its own.
type TempoChange struct {
	At    clock.Beat // from the song's first downbeat; above 0
	Tempo clock.Tempo
}

// barRun is a run of bars of one meter.
type barRun struct {
	start, end clock.Beat // end is noMark after the last change
	meter      Meter
	bars       int64 // that lie between where bars are counted from and start
}

// next returns the first multiple of step after at, counted from the start of
// the stretch; its end is one too.
func (r *barRun) next(at, step clock.Beat) clock.Beat {
	return min(r.start+(at-r.start).FloorTo(step)+step, r.end)
}

// barRunAt returns the bars around a place, counted from a first downbeat.
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

// countedFrom returns where the bars around a place are counted from: the start
// of its section, the end of the song after it, else its first downbeat.
func (s *Song) countedFrom(at clock.Beat) clock.Beat {
	if i := s.sectionAt(at); i != None {
		return s.Sections[i].Start
	}
	if end := s.Length(); at >= end {
		return end
	}
	return 0
}

// MeterAt returns the meter at a place; before the song that of its start.
func (s *Song) MeterAt(at clock.Beat) Meter {
	m := s.Meter
	for i := range s.Meters {
		if s.Meters[i].At > at {
			break
		}
		m = s.Meters[i].Meter
	}
	return m
}

// BarAt returns the bar around a place, from 0, where it begins and its meter.
// Bars count from the start of the section, after the song's end from there,
// and before its start from the first downbeat, below 0.
func (s *Song) BarAt(at clock.Beat) (bar int64, start clock.Beat, m Meter) {
	r := s.barRunAt(s.countedFrom(at), at)
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

// NextBar returns the first bar line after a place. The end of a section is one,
// even where it cuts a bar short.
func (s *Song) NextBar(at clock.Beat) clock.Beat {
	r := s.barRunAt(s.countedFrom(at), at)
	return s.atMostEnd(at, r.next(at, r.meter.Bar()))
}

// NextBeat returns the first beat after a place, or the end of its section.
func (s *Song) NextBeat(at clock.Beat) clock.Beat {
	r := s.barRunAt(s.countedFrom(at), at)
	return s.atMostEnd(at, r.next(at, r.meter.Beat()))
}

// BeatsUntil returns how many beats begin from a place on before another.
func (s *Song) BeatsUntil(at, to clock.Beat) int64 { return s.unitsUntil(at, to, false) }

// BarsUntil returns how many bars, the last maybe not whole, lie between.
func (s *Song) BarsUntil(at, to clock.Beat) int64 { return s.unitsUntil(at, to, true) }

func (s *Song) unitsUntil(at, to clock.Beat, bars bool) (n int64) {
	for r := s.barRunAt(0, at); at < to; r = s.barRunAt(0, at) {
		unit, end := r.meter.unitLength(bars), min(r.end, to)
		n += int64((end - at).CeilTo(unit) / unit)
		at = end
	}
	return n
}

// atMostEnd holds a place after at to the end of the section that at is in.
func (s *Song) atMostEnd(at, next clock.Beat) clock.Beat {
	if i := s.sectionAt(at); i != None {
		return min(next, s.Sections[i].Start+s.Sections[i].Length)
	}
	return next
}

// PlaceAfter returns the place that lies a length after from, or before it when Num is
// below 0. Each beat and bar on the way counts by its own meter.
func (s *Song) PlaceAfter(from clock.Beat, l Length) clock.Beat {
	i := sort.Search(len(s.Meters), func(i int) bool { return s.Meters[i].At > from })
	if l.Num < 0 { // at a change, back into what was before it
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

// meterAfter returns the meter after i changes.
func (s *Song) meterAfter(i int) Meter {
	if i == 0 {
		return s.Meter
	}
	return s.Meters[i-1].Meter
}

// countedBeats returns the bars, or beats, from the song's first downbeat to a place,
// times the length of one in m: what effects count by, so that they begin anew
// with every bar of a new meter.
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

// unitLength returns the length of a bar or beat.
func (m Meter) unitLength(bars bool) clock.Beat {
	if bars {
		return m.Bar()
	}
	return m.Beat()
}

// scaled returns b·to/of. Lengths of bars and beats do not overflow.
func scaled(b, of, to clock.Beat) clock.Beat { return b/of*to + b%of*to/of }

// noteGrid is the finest of the song's meters.
func (s *Song) noteGrid() clock.Beat {
	g := noteGrid(s.Meter)
	for i := range s.Meters {
		g = min(g, noteGrid(s.Meters[i].Meter))
	}
	return g
}
