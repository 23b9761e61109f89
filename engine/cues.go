package engine

import "tactus/clock"

// Pass says in which passes of its section a cue is for.
type Pass int16

// The passes. Above 0 it is the pass of that number; the song's own list holds
// for the first and for all that have no list of their own.
const (
	AgainPass Pass = -1 // the second and all that follow
	LastPass  Pass = -2 // while something else is armed for the section's end
)

// Variant is how a section's cues go in other passes than the first. Its cues
// are complete, in order, and lie in the section.
type Variant struct {
	Section int32
	Pass    Pass
	Cues    []Cue
}

// cueList names a list of a song's cues: 0 the song's own, n its Variants[n−1].
type cueList int32

func (s *Song) list(l cueList) []Cue {
	if l == 0 {
		return s.Cues
	}
	return s.Variants[l-1].Cues
}

// variant returns the list for a pass of a section: that of the last pass while
// the section is being left, that of the pass's number, that of again, or the
// song's own.
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
	low, high := 0, len(cues)
	for low < high {
		if mid := (low + high) / 2; cues[mid].At <= at {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return int32(low - 1)
}

// cueFor returns the cue in force at a place in the song.
//
// A pickup belongs to the section that it leads to. It comes before that
// section when it is armed, wherever the music is; and it stays away when
// something else follows: another section that is armed, or the present one
// again.
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

// nextChange returns the next place after here, in the present song, where
// something is known to change: a cue of any pass, or what waits.
func (p *playback) nextChange(song *Song, here clock.Beat) clock.Beat {
	next := -noEarliest
	note := func(at clock.Beat) {
		if at > here && at < next {
			next = at
		}
	}
	cues := func(cues []Cue, shift clock.Beat) {
		if i := cueAt(cues, here-shift) + 1; int(i) < len(cues) {
			note(cues[i].At + shift)
		}
	}
	for i := range song.Tempos {
		note(song.Tempos[i].At)
	}
	cues(song.Cues, 0)
	for i := range song.Variants {
		cues(song.Variants[i].Cues, 0)
	}
	if p.soon.section != None {
		note(p.soon.boundary)
	}
	switch a := &p.armed; {
	case a.section != None:
		note(a.boundary)
		cues(song.Cues, a.boundary-song.Sections[a.section].Start) // a pickup into it
	case a.song != None:
		note(a.boundary - p.origin)
	}
	return next
}
