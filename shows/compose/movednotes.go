package compose

import (
	"bytes"
	"fmt"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
)

// MovedNotes says which notes of a DAW mean another section of a song than on the disk: a
// project that was made for the saved files has to follow when these are saved.
type MovedNotes struct {
	Song  string // its file
	Moved []MovedNote
}

// MovedNote is a section that another note enters than on the disk.
type MovedNote struct {
	Section string // as it is called now
	From    uint8  // the MIDI note that enters it on the disk
	To      uint8  // and now; engine.NoNote: no note is left
}

// Words says what changes, in a sentence.
func (m *MovedNotes) Words(name string) string {
	const most = 4
	words := fmt.Sprintf("The DAW's notes of %s of %s change: ", language.Count(len(m.Moved), "section"), name)
	for i, n := range m.Moved {
		switch {
		case i == most:
			return words + fmt.Sprintf(" and %d more.", len(m.Moved)-most)
		case i > 0:
			words += ", "
		}
		if n.To == engine.NoNote {
			words += fmt.Sprintf("%s has none in place of %d", n.Section, n.From)
			continue
		}
		words += fmt.Sprintf("%s from %d to %d", n.Section, n.From, n.To)
	}
	return words + "."
}

// notesBook keeps the notes of the files on the disk as they were read last.
type notesBook struct {
	song, show []byte
	sections   []shows.NotedSection
}

// movedNotes finds the notes that changed in a song's file. Sections that were added, and
// those that are gone, have no note that moved.
func (s *Session) movedNotes(file string, sources map[string][]byte) (m MovedNotes) {
	now := notesIn(file, sources, s.judge.loader.Parse) // the loader has just parsed it
	book, ok := s.notes[file]
	if !ok || !bytes.Equal(book.song, s.disk[file]) || !bytes.Equal(book.show, s.disk[showFile]) {
		book = notesBook{s.disk[file], s.disk[showFile], notesIn(file, s.disk, language.Parse)}
		if s.notes == nil {
			s.notes = map[string]notesBook{}
		}
		s.notes[file] = book
	}
	m.Song = file
	for was, is := range sameSections(book.sections, now) {
		if is >= 0 && book.sections[was].Note != now[is].Note {
			m.Moved = append(m.Moved, MovedNote{now[is].Name, book.sections[was].Note, now[is].Note})
		}
	}
	return m
}

// notesIn returns the sections of a song's file with their notes; nil if there is no such
// file, or it has faults.
func notesIn(file string, sources map[string][]byte, parse func(name string, src []byte) (*language.File, language.Problems)) []shows.NotedSection {
	src, is := sources[file]
	if !is {
		return nil
	}
	song, problems := parse(file, src)
	if len(problems) > 0 {
		return nil
	}
	var show *language.File
	if src, is := sources[showFile]; is {
		show, _ = parse(showFile, src)
	}
	list, err := shows.SectionNotes(song, show)
	if err != nil {
		return nil
	}
	return list
}

// sameSections returns for each section before the one that it is now, or -1: the longest
// common order, in which sections of one kind with equal bars and energy are likelier the
// same.
func sameSections(before, now []shows.NotedSection) []int {
	likeness := func(a, b *shows.NotedSection) int {
		if a.Kind != b.Kind && (a.Bars != b.Bars || a.Energy != b.Energy) {
			return 0
		}
		n := 4
		if a.Kind == b.Kind {
			n += 4
		}
		if a.Bars == b.Bars {
			n += 2
		}
		if a.Energy == b.Energy {
			n++
		}
		return n
	}
	best := make([][]int, len(before)+1)
	for i := range best {
		best[i] = make([]int, len(now)+1)
	}
	for i := len(before) - 1; i >= 0; i-- {
		for k := len(now) - 1; k >= 0; k-- {
			best[i][k] = max(best[i+1][k], best[i][k+1])
			if l := likeness(&before[i], &now[k]); l > 0 {
				best[i][k] = max(best[i][k], l+best[i+1][k+1])
			}
		}
	}
	same := make([]int, len(before))
	for i, k := 0, 0; i < len(before); {
		switch {
		case k == len(now):
			same[i] = -1
			i++
		case best[i][k] == likeness(&before[i], &now[k])+best[i+1][k+1] && likeness(&before[i], &now[k]) > 0:
			same[i] = k
			i, k = i+1, k+1
		case best[i][k] == best[i+1][k]:
			same[i] = -1
			i++
		default:
			k++
		}
	}
	return same
}
