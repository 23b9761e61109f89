package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"tactus/shows/compose"
)

// saveEdits makes edits of a show's files and writes them: all or none. It prints why
// edits are refused, and what another program changed meanwhile.
func saveEdits(s *compose.Session, errOut io.Writer, edits ...compose.Edit) error {
	state, err := s.Apply(s.State().Revision, edits)
	if err != nil {
		return refusedEdits(err, errOut)
	}
	return saveSession(s, state.Revision, errOut)
}

// refusedEdits prints the problems for which edits are refused.
func refusedEdits(err error, errOut io.Writer) error {
	if refused := (*compose.Refused)(nil); errors.As(err, &refused) {
		printProblems(errOut, refused.Problems)
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
