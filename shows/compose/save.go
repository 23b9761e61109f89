package compose

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"github.com/rogpeppe/go-internal/diff"

	"tactus/shows"
	"tactus/shows/language"
)

// Conflict is the error for files that another program has changed on the disk since they
// were read. Nothing was written; the edits stay unsaved. Reread takes the disk's files in.
type Conflict struct {
	Files []FileConflict
}

// FileConflict is a file that another program has changed since it was read.
type FileConflict struct {
	File  string   // path inside the show folder
	What  string   // what happened to it, in words: "was changed on the disk"
	Lines []string // what changed there, as lines of a unified diff; at most MaxConflictLines
}

// MaxConflictLines is the most lines of a difference that a FileConflict has.
const MaxConflictLines = 60

// Error names the files, and what happened to each.
func (c *Conflict) Error() string {
	var list []string
	for _, f := range c.Files {
		list = append(list, f.File+" "+f.What)
	}
	return "nothing was saved: " + strings.Join(list, "; ")
}

// Save writes the files that differ from the disk, all or none, each whole. It is refused
// with a *Conflict if one of them is not on the disk as it was last read, or if other files
// changed so that the show would not load with what is written. Other errors say which
// file cannot be written and why. With any error the edits stay, unsaved.
func (s *Session) Save(revision uint64) (State, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.at(revision); err != nil {
		return s.State(), err
	}
	if s.o.Files != nil || s.o.Write == nil {
		return s.State(), ErrNotWritable
	}
	changes := patches(s.disk, s.Sources())
	if len(changes) == 0 {
		s.history.saved = s.history.done
		return s.State(), nil
	}
	list, err := s.written(changes)
	if err != nil {
		return s.State(), err
	}
	if err = s.o.Write(list); err != nil {
		err = fmt.Errorf("not saved, and kept as unsaved edits: %w", err)
		if changes = s.found(changes); len(changes) == 0 {
			return s.State(), err
		}
	} else {
		s.history.saved = s.history.done
	}
	s.disk = overlay(s.disk, s.Sources(), changes)
	v := *s.View()
	v.State.Saves++
	s.tell(v)
	return s.State(), err
}

// written checks the disk and returns what is to be written.
func (s *Session) written(changes []patch) ([]Written, error) {
	now, unread, err := s.read()
	if err != nil {
		return nil, err
	}
	if err := s.conflict(changes, now, unread); err != nil {
		return nil, err
	}
	files, err := s.files()
	if err != nil {
		return nil, err
	}
	var list []Written
	for _, p := range changes {
		at, problem := shows.WriteTarget(files, p.file)
		if problem != nil {
			return nil, fmt.Errorf("not saved, and kept as unsaved edits: %w", language.Problems{*problem})
		}
		if !p.is {
			at = p.file // a link is removed, not what it leads to
		}
		list = append(list, Written{Path: filepath.Join(s.dir, filepath.FromSlash(at)), Source: s.Sources()[p.file], Remove: !p.is})
	}
	return list, nil
}

// conflict returns a *Conflict if files that are to be written are not as they were read,
// or if others have changed so that the show would have new faults.
func (s *Session) conflict(changes []patch, now map[string][]byte, unread language.Problems) error {
	var c Conflict
	for _, p := range changes {
		if what := changed(s.disk, now, p.file); what != "" {
			c.Files = append(c.Files, s.fileConflict(p.file, what, now, unread))
		}
	}
	if len(c.Files) > 0 {
		return &c
	}
	others := patches(s.disk, now)
	if len(others) == 0 {
		return nil
	}
	_, before := s.judge.load(now, unread)
	_, after := s.judge.load(overlay(now, s.Sources(), changes), unread)
	if added := newFaults(before, after); len(added) > 0 && len(newFaults(s.State().Faults, after)) > 0 {
		for _, p := range others {
			c.Files = append(c.Files, s.fileConflict(p.file, changed(s.disk, now, p.file)+" and does not go with the edits: "+added[0].String(), now, unread))
		}
		return &c
	}
	return nil
}

// changed says what happened to a file on the disk, or "".
func changed(before, now map[string][]byte, name string) string {
	old, was := before[name]
	src, is := now[name]
	switch {
	case was && !is:
		return "is no longer on the disk"
	case !was && is:
		return "was made on the disk by another program"
	case !bytes.Equal(old, src):
		return "was changed on the disk"
	}
	return ""
}

// fileConflict describes what happened to a file, with the lines that changed.
func (s *Session) fileConflict(name, what string, now map[string][]byte, unread language.Problems) FileConflict {
	for _, p := range unread {
		if p.File == name {
			what = "can no longer be read: " + p.What
		}
	}
	c := FileConflict{File: name, What: what}
	if src, is := now[name]; is {
		unified := strings.Split(strings.TrimSuffix(string(diff.Diff("as read", s.disk[name], "on the disk", src)), "\n"), "\n")
		c.Lines = unified[min(headingLines, len(unified)):]
		if more := len(c.Lines) - MaxConflictLines; more > 0 {
			c.Lines = append(c.Lines[:MaxConflictLines-1:MaxConflictLines-1], fmt.Sprintf("and %s more", language.Count(more+1, "line")))
		}
	}
	return c
}

// overlay returns files with those of changes as another set has them.
func overlay(under, upper map[string][]byte, changes []patch) map[string][]byte {
	all := maps.Clone(under)
	for _, p := range changes {
		if src, is := upper[p.file]; is {
			all[p.file] = src
		} else {
			delete(all, p.file)
		}
	}
	return all
}

// found returns those changes that are on the disk although writing gave an error.
func (s *Session) found(changes []patch) []patch {
	now, _, err := s.read()
	if err != nil {
		return nil
	}
	return slices.DeleteFunc(changes, func(p patch) bool {
		src, is := now[p.file]
		return is != p.is || !bytes.Equal(src, s.Sources()[p.file])
	})
}

// ErrGone is wrapped by the error of a session whose folder can no longer be read.
var ErrGone = errors.New("the show's folder cannot be read")

// readAgain reads the disk for Reread and Discard.
func (s *Session) readAgain() (map[string][]byte, language.Problems, error) {
	now, unread, err := s.read()
	if err == nil && len(now) == 0 && len(s.disk) > 0 {
		err = fs.ErrNotExist
	}
	if err != nil {
		return nil, nil, fmt.Errorf("%w: %w; the edits are kept", ErrGone, err)
	}
	return now, unread, nil
}
