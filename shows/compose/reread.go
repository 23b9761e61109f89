package compose

import (
	"fmt"
	"maps"
	"slices"

	"tactus/shows/language"
)

// Reread takes in what other programs have changed in the show's folder, and makes the
// unsaved changes again on it, each as a change of its own. One that changes the same
// lines as another program did, or after which the loader finds a new fault, is left out
// and listed in State.Refused. All of it can be undone, back to what was before.
func (s *Session) Reread() (State, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now, unread, err := s.readAgain()
	if err != nil {
		return s.State(), err
	}
	if sameSources(s.disk, now) && slices.Equal(s.unread, unread) {
		return s.State(), nil
	}
	pending := s.pending()
	was := s.Sources()
	taken := step{"taking in what changed on the disk", patches(was, now)}
	before := was // sources before each pending step, as it was made first
	for _, p := range slices.Backward(pending) {
		before = p.reversed().after(before)
	}
	s.disk, s.unread = now, unread
	if len(taken.patches) > 0 {
		s.history.add(taken)
	}
	s.history.saved = s.history.done
	show, faults := s.judge.load(now, unread)
	sources := now
	var refused []Refusal
	for _, p := range pending {
		after := p.after(before)
		next, why := remade(p, before, after, sources)
		before = after
		if why == "" {
			var added language.Problems
			nextShow, nextFaults := s.judge.load(next, unread)
			if added = caused(faults, nextFaults, sources, next); len(added) == 0 {
				if made := (step{p.words, patches(sources, next)}); len(made.patches) > 0 {
					s.history.add(made)
				}
				sources, show, faults = next, nextShow, nextFaults
				continue
			}
			why = added[0].String()
		}
		refused = append(refused, Refusal{p.words, why})
	}
	s.publishRead(sources, show, faults, refused)
	return s.State(), nil
}

// pending returns the steps that lead from the disk's files to the present ones: those of
// the history, or one for all where it does not have them.
func (s *Session) pending() []step {
	steps, ok := s.history.unsaved()
	at := s.Sources()
	for _, p := range slices.Backward(steps) {
		at = p.reversed().after(at)
	}
	if ok && sameSources(at, s.disk) {
		return steps
	}
	if all := patches(s.disk, s.Sources()); len(all) > 0 {
		return []step{{"the unsaved changes", all}}
	}
	return nil
}

// remade makes a step again on other sources, line by line; why says what is in the way.
func remade(p step, before, after, sources map[string][]byte) (next map[string][]byte, why string) {
	next = maps.Clone(sources)
	for _, c := range p.patches {
		old, mine := before[c.file], after[c.file]
		theirs, there := sources[c.file]
		switch {
		case c.was && !there:
			if c.is {
				return nil, c.file + " is no longer on the disk"
			}
		case !c.was && there && string(theirs) != string(mine):
			return nil, c.file + " was made on the disk too, with another content"
		case !c.is && string(theirs) != string(old):
			return nil, c.file + " was changed on the disk, and is not removed"
		case !c.is:
			delete(next, c.file)
		case !c.was:
			next[c.file] = mine
		default:
			merged, line, ok := mergeLines(old, mine, theirs)
			if !ok {
				return nil, fmt.Sprintf("%s:%d: the same lines were changed on the disk", c.file, line)
			}
			next[c.file] = merged
		}
	}
	return next, ""
}

// Discard drops the unsaved changes and takes the files as they are on the disk now. It
// can be undone. At another revision the error wraps ErrStale.
func (s *Session) Discard(revision uint64) (State, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.at(revision); err != nil {
		return s.State(), err
	}
	now, unread, err := s.readAgain()
	if err != nil {
		return s.State(), err
	}
	dropped := step{"discarding unsaved edits", patches(s.Sources(), now)}
	s.disk, s.unread = now, unread
	if len(dropped.patches) > 0 {
		s.history.add(dropped)
	}
	s.history.saved = s.history.done
	show, faults := s.judge.load(now, unread)
	s.publishRead(now, show, faults, nil)
	return s.State(), nil
}
