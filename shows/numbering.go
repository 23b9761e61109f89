package shows

import (
	"errors"
	"fmt"
	"slices"
)

// Numbering has the program numbers of a set's songs, by place in the set.
type Numbering struct {
	Set      string  // its name
	Songs    []int32 // indexes into Program.Songs
	Programs []int16 // MIDI program 0..127 that selects the song, or -1
	Own      []bool  // the song's file says the number; else it is the song's place in the set
}

// ErrPrograms is wrapped by the error for shows with more songs in sets than there are
// MIDI programs.
var ErrPrograms = errors.New("there are only 128 MIDI programs")

// NumberedSong is a song that gets a program number of its own.
type NumberedSong struct {
	Song    int32
	Program int16 // MIDI program, 0..127
}

// NumberSongs gives a number to every song of a set that has none in its file. Songs of
// the chosen set keep their place in it; others keep the place in theirs if that is
// free, else they get the lowest free number. The error wraps ErrPrograms if there are
// not enough numbers for all songs: as the numbers of a set's places are taken by other
// songs, such a show cannot have numbers that hold in every set.
func NumberSongs(show *Show) ([]NumberedSong, error) {
	programs, left := show.missingNumbers()
	if left > 0 {
		return nil, fmt.Errorf("%w: %d songs of the sets would have none", ErrPrograms, left)
	}
	var list []NumberedSong
	for song, program := range programs {
		if program >= 0 {
			list = append(list, NumberedSong{int32(song), program})
		}
	}
	return list, nil
}

// missingNumbers returns by song the number it gets, or -1; and how many songs of sets
// find no free number.
func (s *Show) missingNumbers() (got []int16, left int) {
	var taken [128]bool
	got = slices.Repeat([]int16{-1}, len(s.Program.Songs))
	var open []int32
	for i := range s.Program.Songs {
		if p := s.Program.Songs[i].Program; p >= 0 { // its own, or its place in the chosen set
			taken[p] = true
		}
	}
	each := func(f func(song int32, program int16)) {
		for i := range s.Numberings {
			n := &s.Numberings[i]
			for place, song := range n.Songs {
				if !n.Own[place] {
					f(song, n.Programs[place])
				}
			}
		}
	}
	each(func(song int32, program int16) {
		switch own := s.Program.Songs[song].Program; {
		case own >= 0:
			got[song] = own
		case got[song] < 0 && program >= 0 && !taken[program]:
			got[song], taken[program] = program, true
		}
	})
	each(func(song int32, _ int16) {
		if got[song] < 0 && !slices.Contains(open, song) {
			open = append(open, song)
		}
	})
	for _, song := range open {
		if free := slices.Index(taken[:], false); free >= 0 {
			got[song], taken[free] = int16(free), true
		} else {
			left++
		}
	}
	return got, left
}

// numbering returns the numbers of the songs of a set; taken has the song of each.
func (c *compiler) numbering(set string, order []int32, taken map[int16]int32) Numbering {
	n := Numbering{Set: set, Songs: order}
	for _, song := range order {
		own := c.songs[song].Root.Get("program") != nil
		program := int16(-1)
		for p, s := range taken {
			if s == song {
				program = p
			}
		}
		n.Programs, n.Own = append(n.Programs, program), append(n.Own, own)
	}
	return n
}
