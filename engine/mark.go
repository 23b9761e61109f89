package engine

import "tactus/clock"

// nextMark returns the next place after pos, in the transport's beats, that has
// to be a frame: a beat of the song, the end of a section, a cue of any pass,
// the boundary of what is armed. Outside songs it is the next quarter, or where
// the song that is armed begins.
func (e *Engine) nextMark(pos clock.Position) clock.Beat {
	p := &e.play
	if p.song == None {
		mark := pos.Beat.FloorTo(clock.Quarter) + clock.Quarter
		if p.armed.song != None {
			mark = sooner(mark, p.armed.boundary, pos.Beat)
		}
		return mark
	}
	song := &e.prog.Songs[p.song]
	raw, here := pos.Beat-p.origin, p.songBeat(pos)
	// Beats count from the start of the section, as boundaries do; beyond the
	// last section they count on from its end.
	start, end := clock.Beat(0), noMark
	if i := song.sectionAt(here); i != None {
		start = song.Sections[i].Start
		end = start + song.Sections[i].Length
	} else if length := song.Length(); here >= length {
		start = length
	}
	bars := song.barRunAt(start, raw)
	mark := bars.next(raw, bars.meter.Beat())
	mark = sooner(mark, end, raw)
	mark = sooner(mark, p.nextChange(song, here), raw)
	return p.origin + mark
}

const noMark = -noEarliest

// sooner returns b if it lies between from and mark, else mark.
func sooner(mark, b, from clock.Beat) clock.Beat {
	if b > from && b < mark {
		return b
	}
	return mark
}
