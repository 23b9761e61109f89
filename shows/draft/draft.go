package draft

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"

	"tactus/shows"
)

// ErrNoLadder is wrapped by the error for a show without a ladder, which proposes one.
var ErrNoLadder = errors.New("looks.yaml has no ladder")

// Draft is a song with its drafted cues.
type Draft struct {
	Song   string // its name
	Source []byte // the whole file
	// Character is what the draft followed, and why: named in the song's file or inferred.
	Character, Why string
	Rows           []Row // what it looks like, in the song's order; removed lines of places that are no longer in the song last
}

// Row is the light at a place of the song, and the reason for it.
type Row struct {
	At      string
	In      string // the passes of its section: "" for all, "again" or "pass 3"
	Energy  int    // of the section that begins here; -1 where none does
	Look    string
	Effects []string
	Fade    string // "": as written
	Reason  string
	Theirs  bool // a person wrote it; the draft leaves it alone
	Removed bool // the line of an earlier draft goes; Look and Effects are empty
}

// New drafts a song of a show: file is its path inside the show folder, such as
// songs/lanterns.yaml. Drafted lines that nobody has changed are replaced. Errors are
// shows.Problems, ErrNoLadder, ErrFlow, ErrLines, and that the file's form leaves no
// room for lines.
func New(files fs.FS, file string) (*Draft, error) { return newDraft(files, file, maxTries) }

// newDraft drafts a song, and tries other lights for its sections up to so many times.
func newDraft(files fs.FS, file string, tries int) (*Draft, error) {
	src, err := fs.ReadFile(files, file)
	if err != nil {
		return nil, err
	}
	t := read(src)
	show, err := t.load(files, file)
	if err != nil {
		return nil, err
	}
	if show.Ladder == nil {
		return nil, fmt.Errorf("%w to draft from. Put one in, from the calmest look to the strongest. By how bright your looks are, to begin with:\n\n%s", ErrNoLadder, Propose(show))
	}
	m := improver{files: files, file: file, text: t, show: show, tries: tries}
	best, err := m.best()
	if err != nil {
		return nil, err
	}
	before, _ := Clear(src)
	after, _ := Clear(best.source)
	if !bytes.Equal(before, after) {
		return nil, errNoRoom(file)
	}
	w := best.writer
	rows := append(w.rows, t.removed(w.cues)...)
	slices.SortStableFunc(rows, func(a, b Row) int { return cmp.Compare(w.find(a.At), w.find(b.At)) })
	return &Draft{Song: w.song.song.Name, Source: best.source, Character: w.character.Name, Why: w.inferred, Rows: rows}, nil
}

func errNoRoom(file string) error {
	return fmt.Errorf("%s is written in a form that leaves no room for lines; write sections and cues one a line, each starting with a dash", file)
}

func with(file string, src []byte) shows.Options {
	return shows.Options{Instead: map[string][]byte{file: src}}
}

// load loads the show without the drafted lines of this song, and without a heading
// "cues:" that has none left.
func (t *text) load(files fs.FS, file string) (*shows.Show, error) {
	lines, from := t.cleared()
	f, err := t.find()
	if err == nil && f.head >= 0 && len(f.items) == 0 {
		if i := slices.Index(from, f.head); i >= 0 {
			lines = slices.Clone(lines)
			lines[i] = ""
		}
	}
	show, problems := shows.Load(files, with(file, t.Bytes(lines)))
	for i := range problems {
		if p := &problems[i]; p.File == file && p.Line > 0 && p.Line <= len(from) {
			p.Line = from[p.Line-1] + 1
		}
	}
	return show, problems.Err()
}
