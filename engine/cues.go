package engine

import (
	"sort"

	"tactus/clock"
)

// Pass is the pass of its section that a list of cues is for: above 0 the pass of
// that number.
type Pass int16

// Passes without a number. Where no Variant fits, the song's own cues play.
const (
	AgainPass Pass = -1 // the second and all that follow
	LastPass  Pass = -2 // while something else is armed for the section's end
)

// Variant has the cues of a section for some of its passes: all of them, in order.
type Variant struct {
	Section int32
	Pass    Pass
	Cues    []Cue
}

// cueList is a list of a song's cues: 0 is Song.Cues, n is Song.Variants[n−1].Cues.
type cueList int32

func (s *Song) list(l cueList) []Cue {
	if l == 0 {
		return s.Cues
	}
	return s.Variants[l-1].Cues
}

// variant returns the list for a pass of a section: the first that exists of
// LastPass (while leaving), the pass's number, AgainPass and the song's own.
func (s *Song) variant(section int32, pass int, leaving bool) cueList {
	found, rank := cueList(0), 0
	for i := range s.Variants {
		v := &s.Variants[i]
		if v.Section != section {
			continue
		}
		r := 0
		switch {
		case v.Pass == LastPass && leaving:
			r = 3
		case v.Pass > 0 && int(v.Pass) == pass:
			r = 2
		case v.Pass == AgainPass && pass > 1:
			r = 1
		}
		if r > rank {
			found, rank = cueList(i+1), r
		}
	}
	return found
}

// cueAt returns the last cue at or before a place in the song, or None.
func cueAt(cues []Cue, at clock.Beat) int32 {
	return int32(sort.Search(len(cues), func(i int) bool { return cues[i].At > at }) - 1)
}

// cueFor returns the present cue at a place in the song.
//
// A pickup belongs to the section that follows it. It plays before that section
// when it is armed, wherever the music is. It does not play when another section is
// armed, or when the present one loops.
func (p *playback) cueFor(song *Song, here clock.Beat) (cueList, int32) {
	a := &p.armed
	if a.section != None {
		to := &song.Sections[a.section]
		i := cueAt(song.Cues, to.Start-(a.boundary-here))
		if i != None && here < a.boundary && song.Cues[i].Pickup == a.section+1 {
			return 0, i
		}
	}
	list := cueList(0)
	loops := false
	if k := p.section; k != None {
		s := &song.Sections[k]
		loops = s.Loop
		leaving := a.section != None && a.section != k && a.boundary == s.Start+s.Length
		list = song.variant(k, p.pass(), leaving)
	}
	cues := song.list(list)
	i := cueAt(cues, here)
	if i == None && list != 0 {
		list, cues = 0, song.Cues
		i = cueAt(cues, song.Sections[p.section].Start-1)
	}
	for i > 0 && cues[i].Pickup != 0 {
		to := cues[i].Pickup - 1
		elsewhere := a.section != None && a.section != to && a.boundary <= song.Sections[to].Start
		if !elsewhere && (!loops || p.section == to) {
			break
		}
		i--
	}
	return list, i
}

// nextChange returns the next place after here, in the present song, that has a cue
// of any pass, a change of tempo or the boundary of what is armed.
func (p *playback) nextChange(song *Song, here clock.Beat) clock.Beat {
	next := noMark
	consider := func(at clock.Beat) {
		if at > here && at < next {
			next = at
		}
	}
	cues := func(cues []Cue, shift clock.Beat) {
		if i := cueAt(cues, here-shift) + 1; int(i) < len(cues) {
			consider(cues[i].At + shift)
		}
	}
	for i := range song.Tempos {
		consider(song.Tempos[i].At)
	}
	cues(song.Cues, 0)
	for i := range song.Variants {
		cues(song.Variants[i].Cues, 0)
	}
	if p.soon.section != None {
		consider(p.soon.boundary)
	}
	switch a := &p.armed; {
	case a.section != None:
		consider(a.boundary)
		cues(song.Cues, a.boundary-song.Sections[a.section].Start) // a pickup into it
	case a.song != None:
		consider(a.boundary - p.origin)
	}
	return next
}

// nextMark returns the next place after pos, in the transport's beats, that must
// have a frame: a beat of the song, the end of a section, a cue of any pass, a change
// of tempo, the boundary of what is armed. Outside songs it is the next quarter note,
// or where the armed song begins.
func (e *Engine) nextMark(pos clock.Position) clock.Beat {
	p := &e.play
	if p.song == None {
		mark := pos.Beat.FloorTo(clock.Quarter) + clock.Quarter
		if p.armed.song != None {
			mark = earliestMark(mark, p.armed.boundary, pos.Beat)
		}
		return mark
	}
	song := &e.prog.Songs[p.song]
	raw, here := pos.Beat-p.origin, p.songBeat(pos)
	start, end := song.barsAround(here)
	bars := song.barRunAt(start, raw)
	mark := bars.next(raw, bars.meter.Beat())
	mark = earliestMark(mark, end, raw)
	mark = earliestMark(mark, p.nextChange(song, here), raw)
	return p.origin + mark
}

const noMark = -noEarliest

// earliestMark returns b if it lies between from and mark, else mark.
func earliestMark(mark, b, from clock.Beat) clock.Beat {
	if b > from && b < mark {
		return b
	}
	return mark
}
