package shows

import (
	"tactus/engine"
	"tactus/shows/language"
)

// SectionNotes returns the sections of a song's file, and the MIDI note that enters each;
// engine.NoNote where none is left. show is the file show.yaml, which says where automatic
// notes begin, or nil. The error is for a song with faults.
func SectionNotes(song, show *language.File) ([]NotedSection, error) {
	c := &compiler{}
	if show != nil {
		c.show = show.Root
	}
	s, problems := Timeline(song)
	if song.Faulty || len(problems) > 0 {
		return nil, problems.Err()
	}
	for i := range s.Sections {
		s.Sections[i].Note = engine.NoNote
	}
	c.sectionNotes(&s, song.Root.Get("sections"))
	var list []NotedSection
	for i, item := range song.Root.Get("sections").Items() {
		if i < len(s.Sections) {
			x := &s.Sections[i]
			list = append(list, NotedSection{x.Name, item.All()[0].Key.Text, s.SectionBars(int32(i)), x.Energy, x.Note})
		}
	}
	return list, nil
}

// NotedSection is a section with the MIDI note that enters it.
type NotedSection struct {
	Name   string // numbered where the kind comes more than once
	Kind   string
	Bars   int64
	Energy int8
	Note   uint8
}
