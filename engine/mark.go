package engine

import "tactus/clock"

// nextMark returns the next place after pos, in the transport's beats, that has
// to be a frame: a beat of the song, a cue, the boundary of an armed section,
// the end of a section. Outside songs it is the next quarter.
func (e *Engine) nextMark(pos clock.Position) clock.Beat {
	p := &e.play
	if p.song == None {
		return pos.Beat.FloorTo(clock.Quarter) + clock.Quarter
	}
	song := &e.prog.Songs[p.song]
	raw, here := pos.Beat-p.origin, p.at(pos)
	// Beats count from the start of the section, as boundaries do; beyond the
	// last section they count on from its end.
	start, end := clock.Beat(0), noMark
	if i := song.sectionAt(here); i != None {
		start = song.Sections[i].Start
		end = start + song.Sections[i].Length
	} else if length := song.Length(); here >= length {
		start = length
	}
	mark := start + (raw - start).FloorTo(song.Meter.Beat()) + song.Meter.Beat()
	mark = sooner(mark, end, raw)
	if next := song.cueAt(here) + 1; int(next) < len(song.Cues) {
		mark = sooner(mark, song.Cues[next].At, raw)
	}
	if p.armed.section != None {
		mark = sooner(mark, p.armed.at, raw)
	}
	return p.origin + mark
}

const noMark = -noFloor

// sooner returns b if it lies between from and mark, else mark.
func sooner(mark, b, from clock.Beat) clock.Beat {
	if b > from && b < mark {
		return b
	}
	return mark
}
