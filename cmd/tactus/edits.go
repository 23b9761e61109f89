package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"tactus/shows/compose"
	"tactus/shows/language"
)

// saveEdits makes edits of a show's files and writes them: all or none. It prints why
// edits are refused, and what another program changed meanwhile.
func saveEdits(s *compose.Session, errOut io.Writer, edits ...compose.Edit) error {
	state, err := s.Apply(s.State().Revision, edits)
	if err != nil {
		return shown(errOut, err)
	}
	return saveSession(s, state.Revision, errOut)
}

// shown prints an error's problems, if it has some, and returns what is left to say of it.
func shown(errOut io.Writer, err error) error {
	var problems language.Problems
	if errors.As(err, &problems) {
		printProblems(errOut, problems)
		return errShown
	}
	return err
}

// saveSession writes the edits of a session.
func saveSession(s *compose.Session, revision uint64, errOut io.Writer) error {
	_, err := s.Save(revision)
	if conflict := (*compose.Conflict)(nil); errors.As(err, &conflict) {
		for _, f := range conflict.Files {
			fmt.Fprintln(errOut, strings.Join(append([]string{f.File + " " + f.What}, f.Lines...), "\n"))
		}
		return fmt.Errorf("another program changed files meanwhile; nothing is written")
	}
	return err
}
