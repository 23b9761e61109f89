package compose

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"sync"
	"sync/atomic"

	"tactus/shows"
	"tactus/shows/language"
)

// Options choose how a session reads and writes.
type Options struct {
	// Set is the set list that plays, as in shows.Options.
	Set string
	// Write writes files, all of them or none: with an error, the disk is as before as far
	// as the system permits. Each file appears whole or not at all, and keeps its
	// permissions. Without it, Save refuses.
	Write func([]Written) error
	// Files are read instead of a folder, for a show that is built in. Save refuses.
	Files fs.FS
	// HistoryBytes bounds the text that is kept for undo; 0: MaxHistoryBytes.
	HistoryBytes int
}

// Written is a file that Save writes or removes.
type Written struct {
	Path   string // in the file system: the show's folder, and the file that is meant, links followed
	Source []byte
	Remove bool // the file goes away
}

// State is what a session tells about itself.
type State struct {
	Revision uint64            // counts the changes of the sources, from 1
	Saves    uint64            // counts the times that files were saved or read again, from 0
	Unsaved  []string          // files that differ from the disk as it was last read, sorted
	Undo     string            // what an undo would undo, in words; "": there is nothing
	Redo     string            // what a redo would do again, in words; "": there is nothing
	Notes    []MovedNotes      // songs whose notes mean other sections than on the disk
	Refused  []Refusal         // after Reread: unsaved changes that could not be made again
	Faults   language.Problems // of the edited sources; the show is nil if there are any
}

// Refusal is a change that Reread could not make again on the disk's files.
type Refusal struct {
	Words string // what the change did
	Why   string // in words
}

// Errors of Session, besides [Refused] and [Conflict].
var (
	// ErrStale means that the session is at another revision than the caller saw.
	ErrStale = errors.New("the show has been edited since")
	// ErrNothing means that there is nothing to undo or redo.
	ErrNothing = errors.New("there is nothing to undo or redo")
	// ErrNotWritable means that the session's show cannot be saved.
	ErrNotWritable = errors.New("this show cannot be saved; make a folder of it with tactus new")
)

// Refused is the error for edits that cannot be made. Nothing has changed.
type Refused struct {
	Edit     int               // which of the edits, from 0; -1: all of them together
	Words    string            // what it would have done
	Problems language.Problems // why not: of the edit, or new faults that the loader finds
}

// Error says what was refused and why, a line a problem.
func (r *Refused) Error() string { return r.Words + " is refused: " + r.Problems.Error() }

// Unwrap returns the problems.
func (r *Refused) Unwrap() error { return r.Problems }

// Session is a show as people edit it. All methods may be called by several goroutines;
// those that only read never wait for an edit.
type Session struct {
	dir  string
	o    Options
	view atomic.Pointer[View]

	drafts drafts

	mu      sync.Mutex // held while the session changes
	judge   judge
	history history
	disk    map[string][]byte // the files as they were last read or written
	notes   map[string]notesBook
	unread  language.Problems // of files that could not be read
}

// View is a session at one moment. It is read-only.
type View struct {
	State   State
	Show    *shows.Show       // compiled from the sources; nil if they have faults
	Sources map[string][]byte // of the show's files, by path inside the folder
	unread  language.Problems // of files that could not be read
}

// Open starts a session on the show in a folder. A show with faults can be opened and
// repaired. The error is for a folder that cannot be read at all.
func Open(dir string, o Options) (*Session, error) {
	if o.HistoryBytes == 0 {
		o.HistoryBytes = MaxHistoryBytes
	}
	s := &Session{dir: dir, o: o, judge: judge{set: o.Set}, history: history{most: o.HistoryBytes}}
	sources, unread, err := s.read()
	if err != nil {
		return nil, err
	}
	s.disk, s.unread = sources, unread
	show, faults := s.judge.load(sources, unread)
	s.view.Store(&View{Show: show, Sources: sources, unread: unread, State: State{Revision: 1, Faults: faults}})
	return s, nil
}

// read reads all files of the show.
func (s *Session) read() (map[string][]byte, language.Problems, error) {
	files, err := s.files()
	if err != nil {
		return nil, nil, err
	}
	sources, problems := shows.ReadFiles(files, shows.Options{})
	return sources, problems, nil
}

func (s *Session) files() (fs.FS, error) {
	if s.o.Files != nil {
		return s.o.Files, nil
	}
	return shows.Open(s.dir)
}

// View returns the state, the show and the sources of one moment.
func (s *Session) View() *View { return s.view.Load() }

// State returns the present state.
func (s *Session) State() State { return s.View().State }

// Show returns the show compiled from the edited sources, or nil if they have faults.
func (s *Session) Show() *shows.Show { return s.View().Show }

// Sources returns the edited sources by path inside the show folder. They must not be
// changed.
func (s *Session) Sources() map[string][]byte { return s.View().Sources }

// Apply makes edits one after another: all or none. revision is the one that the caller
// saw; at another the error wraps ErrStale. An edit that cannot be made, or after which
// the loader finds a fault that was not there before, gives a *Refused; one that mends a
// fault may uncover others elsewhere. The state is the present one, with an error too.
func (s *Session) Apply(revision uint64, edits []Edit) (State, error) {
	return s.apply(revision, edits, func(made step, _ map[string][]byte) { s.history.add(made) })
}

// Amend is [Session.Apply] for edits that go on with the last change, as while something is
// dragged: one undo takes back both.
func (s *Session) Amend(revision uint64, edits []Edit) (State, error) {
	return s.apply(revision, edits, s.history.amend)
}

func (s *Session) apply(revision uint64, edits []Edit, keep func(made step, now map[string][]byte)) (State, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.at(revision); err != nil {
		return s.State(), err
	}
	if len(edits) == 0 || len(edits) > MaxEdits {
		return s.State(), fmt.Errorf("%d edits, want 1 to %d", len(edits), MaxEdits)
	}
	f := newFiles(s.Sources(), &s.judge.loader)
	f.unread, f.drafts = s.unread, &s.drafts
	for i, e := range edits {
		if err := e.edit(f); err != nil {
			return s.State(), refusal(i, e, err)
		}
	}
	words := wordsOf(edits[0])
	if len(edits) > 1 {
		words += fmt.Sprintf(" and %s more", language.Count(len(edits)-1, "edit"))
	}
	next := step{words, patches(s.Sources(), f.sources)}
	if len(next.patches) == 0 {
		return s.State(), nil
	}
	show, faults := s.judge.load(f.sources, s.unread)
	if added := caused(s.State().Faults, faults, s.Sources(), f.sources); len(added) > 0 {
		refused := &Refused{Edit: -1, Words: words, Problems: added}
		if len(edits) == 1 {
			refused.Edit = 0
		}
		return s.State(), refused
	}
	keep(next, f.sources)
	s.publish(f.sources, show, faults)
	return s.State(), nil
}

// Try returns for each edit why it could not be made after those before it that could be;
// nil: it could. Nothing changes, and the loader judges nothing.
func (s *Session) Try(edits []Edit) []error {
	s.mu.Lock()
	defer s.mu.Unlock()
	errs := make([]error, len(edits))
	f := newFiles(s.Sources(), &s.judge.loader)
	for i, e := range edits {
		trial := newFiles(f.sources, f.loader)
		if errs[i] = e.edit(trial); errs[i] == nil {
			f = trial
		}
	}
	return errs
}

// wordsOf says what an edit does in at most 200 letters. Names and values in it may be long.
func wordsOf(e Edit) string {
	const most = 200
	if words := []rune(e.Words()); len(words) > most {
		return string(words[:most]) + "…"
	}
	return e.Words()
}

// refusal returns the error for an edit that could not be made.
func refusal(i int, e Edit, err error) error {
	r := &Refused{Edit: i, Words: wordsOf(e)}
	if !errors.As(err, &r.Problems) {
		r.Problems = language.Problems{{What: err.Error()}}
	}
	return r
}

// at returns an error unless the session is at a revision.
func (s *Session) at(revision uint64) error {
	if now := s.State().Revision; now != revision {
		return fmt.Errorf("%w: it is at revision %d, the request is for %d", ErrStale, now, revision)
	}
	return nil
}

// publish makes sources the present ones.
func (s *Session) publish(sources map[string][]byte, show *shows.Show, faults language.Problems) {
	s.tell(s.next(sources, show, faults))
}

// publishRead makes sources the present ones after the disk was read again.
func (s *Session) publishRead(sources map[string][]byte, show *shows.Show, faults language.Problems, refused []Refusal) {
	v := s.next(sources, show, faults)
	v.State.Saves++
	v.State.Refused = refused
	s.tell(v)
}

// next returns the view that follows the present one.
func (s *Session) next(sources map[string][]byte, show *shows.Show, faults language.Problems) View {
	v := View{Show: show, Sources: sources, State: s.State()}
	v.State.Revision++
	v.State.Faults, v.State.Refused = faults, nil
	return v
}

// tell publishes a view after filling in what its state says of files and history.
func (s *Session) tell(v View) {
	v.unread = s.unread
	v.State.Unsaved, v.State.Undo, v.State.Redo = nil, s.history.undoes(), s.history.redoes()
	v.State.Notes = nil
	for _, p := range patches(s.disk, v.Sources) {
		v.State.Unsaved = append(v.State.Unsaved, p.file)
		if kind, _ := language.KindOf(p.file); kind == language.SongFile {
			if m := s.movedNotes(p.file, v.Sources); len(m.Moved) > 0 {
				v.State.Notes = append(v.State.Notes, m)
			}
		}
	}
	s.view.Store(&v)
}

// Undo takes back the last change, to equal bytes. Without one the error wraps ErrNothing;
// at another revision, ErrStale.
func (s *Session) Undo(revision uint64) (State, error) { return s.turn(revision, -1) }

// Redo makes the change again that was undone last. Errors are those of Undo.
func (s *Session) Redo(revision uint64) (State, error) { return s.turn(revision, +1) }

// turn undoes the last change (by is -1) or makes the next one again (by is +1).
func (s *Session) turn(revision uint64, by int) (State, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.at(revision); err != nil {
		return s.State(), err
	}
	h := &s.history
	if by < 0 && h.done == 0 || by > 0 && h.done == len(h.steps) {
		return s.State(), ErrNothing
	}
	var turned step
	if by < 0 {
		turned = h.steps[h.done-1].reversed()
	} else {
		turned = h.steps[h.done]
	}
	h.done += by
	sources := turned.after(s.Sources())
	show, faults := s.judge.load(sources, s.unread)
	s.publish(sources, show, faults)
	return s.State(), nil
}

// sameSources reports whether two sets of sources have the same files and bytes.
func sameSources(a, b map[string][]byte) bool {
	return maps.EqualFunc(a, b, slices.Equal)
}
