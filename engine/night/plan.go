package night

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
)

// WalkIn is how long the walk-in look is up before the first song is started.
const WalkIn = 10 * clock.Second

// restBars is the least number of bars between songs.
const restBars = 2

// Song is a song as it comes in the night.
type Song struct {
	Index    int32      // in Program.Songs
	Place    int        // in Program.SetList; -1: it is not in the set
	Start    clock.Beat // its first downbeat, counted from that of the first song
	Rest     clock.Beat // from its end to the first downbeat of the next song
	Sections []Section  // in order
}

// Section is a section as it comes in the night.
type Section struct {
	Index int32 // in the song's sections
	Pass  int   // which time it is played, from 1
}

// PlannedSongs lists the songs of the set in order, without those that have no
// sections.
func PlannedSongs(p *engine.Program) (list []Song) {
	at := clock.Beat(0)
	for place, index := range p.SetList {
		if len(p.Songs[index].Sections) == 0 {
			continue
		}
		s := songOf(p, index, place, at)
		list = append(list, s)
		at = s.NextStart(p)
	}
	return list
}

// SongsUpTo lists what is played up to the end of a song: the songs of the set up to
// its first place there, or the song alone if it is not in the set.
func SongsUpTo(p *engine.Program, song int32) []Song {
	list := PlannedSongs(p)
	if i := slices.IndexFunc(list, func(s Song) bool { return s.Index == song }); i >= 0 {
		return list[:i+1]
	}
	if len(p.Songs[song].Sections) == 0 {
		return nil
	}
	return []Song{songOf(p, song, -1, 0)}
}

// SongInShort lists what has to be played for a song to begin in the light that it begins
// in when the set is played: the last sections of the song before it in the set, and of
// the songs whose levels for kept heads are still up by then; then the song. It is quicker
// than [SongsUpTo]. Effects that run through the whole night stand elsewhere in their
// cycles.
func SongInShort(p *engine.Program, song int32) []Song {
	list := SongsUpTo(p, song)
	if len(list) == 0 {
		return nil
	}
	own := list[len(list)-1]
	before, wanted := list[:len(list)-1], map[int32]bool{} // kept heads whose last setter is found
	var short []Song
	for i, s := range slices.Backward(before) {
		if sets := keptHeads(p, s.Index, wanted); sets || i == len(before)-1 {
			s.Sections = s.Sections[len(s.Sections)-1:]
			short = append(short, s)
		}
	}
	slices.Reverse(short)
	return append(short, own)
}

// keptHeads adds the kept heads that the last cue of a song sets to those that are found
// already, and reports whether there are any new ones.
func keptHeads(p *engine.Program, song int32, found map[int32]bool) (added bool) {
	cues := p.Songs[song].Cues
	if len(cues) == 0 {
		return false
	}
	for _, part := range cues[len(cues)-1].Parts {
		for _, h := range part.Heads {
			if p.Heads[h].Keep && !found[h] {
				found[h], added = true, true
			}
		}
	}
	return added
}

func songOf(p *engine.Program, index int32, place int, at clock.Beat) Song {
	song := &p.Songs[index]
	s := Song{Index: index, Place: place, Start: at, Rest: restAfter(song, at)}
	for i := range song.Sections {
		s.Sections = append(s.Sections, Section{int32(i), 1})
	}
	return s
}

// NextStart returns the first downbeat of the next song, counted as Start is.
func (s *Song) NextStart(p *engine.Program) clock.Beat {
	return s.Start + p.Songs[s.Index].Length() + s.Rest
}

// RestTime returns how long the transport stands after the song.
func (s *Song) RestTime(p *engine.Program) clock.Time {
	song := &p.Songs[s.Index]
	return song.TempoAt(song.Length()).Span(s.Rest)
}

// restAfter returns how long the transport stands after a song that starts at a
// beat of the night.
func restAfter(song *engine.Song, at clock.Beat) clock.Beat {
	end := song.Length()
	bar := song.MeterAt(end).Bar()
	next := end
	if len(song.Meters) == 0 {
		next = end.CeilTo(bar)
	}
	next += restBars * bar
	for n := range clock.Beat(4) { // a bar is a whole number of sixteenths
		if later := next + n*bar; (at+later)%clock.Quarter == 0 {
			next = later
			break
		}
	}
	// Bars before a change of meter may leave a part of a quarter that no number of
	// whole bars completes.
	return (at + next).CeilTo(clock.Quarter) - at - end
}
