package showfiles

import (
	"fmt"
	"strings"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/language"
)

// Edit is what came of a change in the files: one of the three, or none if the
// files are again as they play.
type Edit struct {
	Reload     *engine.Reload
	Show       *shows.Show       // with Reload
	SongFaults language.Problems // with Reload: faults of songs, which stay as they were or, if new, are left out
	Archive    []byte            // with Reload: the files that Show is made of; nil if they are too large for one
	Content    string            // with Archive: their checksum, as ContentOf has it
	Drafted    []string          // song files with faults and drafted lines
	Faults     language.Problems
	// NotMadeAgain has a line for each unsaved edit of the page that does not fit the files
	// as another program has changed them.
	NotMadeAgain []string
	Restart      error // what cannot be changed while it plays
}

// Lines says what came of an edit.
func (e *Edit) Lines() []string { return append(e.lines(), e.NotMadeAgain...) }

func (e *Edit) lines() []string {
	switch {
	case e.Faults != nil:
		lines := []string{fmt.Sprintf("the show's files do not fit (faults: %d); nothing changes until they do", len(e.Faults))}
		lines = append(lines, e.Faults.Lines()...)
		return append(lines, e.draftAgain()...)
	case e.Restart != nil:
		lines := []string{"the show's files hold changes that cannot be taken over while it plays; nothing changes: start again when it suits you"}
		return append(lines, strings.Split(e.Restart.Error(), "\n")...)
	case e.Reload == nil:
		return []string{"the show's files are as they play"}
	}
	lines := []string{"the show's files have changed: taken over"}
	if len(e.SongFaults) > 0 {
		lines = []string{fmt.Sprintf("the show's files have changed: taken over, except for songs with faults (faults: %d), which stay as they were; new ones are left out", len(e.SongFaults))}
		lines = append(append(lines, e.SongFaults.Lines()...), e.draftAgain()...)
	}
	if gone := e.Reload.Gone(); len(gone) > 0 {
		lines = append(lines, "no longer in the show: "+strings.Join(gone, ", ")+"; what plays of it stays until something else is shown")
	}
	return lines
}

// draftAgain says what puts drafted lines right that no longer fit their song.
func (e *Edit) draftAgain() (lines []string) {
	for _, file := range e.Drafted {
		lines = append(lines, file+" has drafted lines; 'tactus draft' with its path writes them anew, to fit its sections")
	}
	return lines
}
