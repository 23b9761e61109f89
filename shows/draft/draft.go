package draft

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"

	"tactus/clock"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
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
	// Strengths are the measured strengths of the song's sections with the draft, 0..10;
	// empty if it was not measured.
	Strengths []float64

	improver *improver
	best     *attempt
}

// Row is the light at a place of the song, and the reason for it.
type Row struct {
	At      string
	In      string // the passes of its section: "" for all, "again" or "pass 3"
	Section int    // index of the section that the place names; -1 if it is no longer in the song
	Beat    clock.Beat
	Energy  int // of the section that begins here; -1 where none does
	Look    string
	Effects []string
	Fade    string // "": as written
	Reason  string
	Theirs  bool // a person wrote it; the draft leaves it alone
	Removed bool // the line of an earlier draft goes; Look and Effects are empty
	Before  Before
}

// Before says what an earlier draft has at the place of a row.
type Before uint8

// What an earlier draft has at a place.
const (
	Nothing   Before = iota // no line: it is new
	TheSame                 // the same line
	Otherwise               // another line, which is replaced
)

// New drafts a song of a show: file is its path inside the show folder, such as
// songs/lanterns.yaml. Drafted lines that nobody has changed are replaced. Errors are
// shows.Problems, ErrNoLadder, ErrFlow, ErrLines, and that the file's form leaves no
// room for lines.
func New(files fs.FS, file string) (*Draft, error) {
	sources, unread, err := readWith(files, file)
	if err != nil {
		return nil, err
	}
	return Of(sources, unread, file)
}

// Of is [New] for the sources of a show, by path inside its folder. unread are the problems
// of files that could not be read.
func Of(sources map[string][]byte, unread language.Problems, file string) (*Draft, error) {
	return newDraft(sources, unread, file, maxTries)
}

// readWith reads a show's files, one of which has to be there.
func readWith(files fs.FS, file string) (map[string][]byte, language.Problems, error) {
	sources, unread := shows.ReadFiles(files, shows.Options{})
	if _, read := sources[file]; !read {
		src, err := fs.ReadFile(files, file)
		if err != nil {
			return nil, nil, err
		}
		sources[file] = src
	}
	return sources, unread, nil
}

// newDraft drafts a song, and tries other lights for its sections up to so many times.
func newDraft(sources map[string][]byte, unread language.Problems, file string, tries int) (*Draft, error) {
	src, ok := sources[file]
	if !ok {
		return nil, fmt.Errorf("%s: %w", file, fs.ErrNotExist)
	}
	t := read(src)
	m := &improver{sources: sources, unread: unread, file: file, text: t, tries: tries}
	var err error
	if m.show, err = m.bare(); err != nil {
		return nil, err
	}
	if m.show.Ladder == nil {
		return nil, fmt.Errorf("%w to draft from. Put one in, from the calmest look to the strongest. By how bright your looks are, to begin with:\n\n%s", ErrNoLadder, Propose(m.show))
	}
	best, err := m.best()
	if err != nil {
		return nil, err
	}
	if err := m.roomy(best.source); err != nil {
		return nil, err
	}
	w := best.writer
	d := &Draft{Song: w.song.song.Name, Source: best.source, Character: w.character.Name, Why: w.inferred, improver: m, best: best}
	d.Rows = append(w.rows, t.removed(w.cues)...)
	slices.SortStableFunc(d.Rows, func(a, b Row) int { return cmp.Compare(w.find(a.At), w.find(b.At)) })
	for i := range d.Rows {
		d.Rows[i].Beat = w.find(d.Rows[i].At)
		d.Rows[i].Section = position.Named(w.song.song, d.Rows[i].At)
		d.Rows[i].Before = t.before(&d.Rows[i], w.cues)
	}
	if best.song != nil {
		for i := range best.song.Sections {
			d.Strengths = append(d.Strengths, best.song.Sections[i].Strength)
		}
	}
	return d, nil
}

// For returns the song's file with the draft of some sections only, by their indexes. The
// drafted lines of the others stay as they are: those at places that name none of these
// sections. Levels that a whole draft writes in an earlier section are written in these.
func (d *Draft) For(sections []int) ([]byte, error) {
	m, song := d.improver, d.best.writer.song.song
	chosen := func(at string) bool {
		i := position.Named(song, at)
		return i < 0 || slices.Contains(sections, i) // a place that is gone keeps no line
	}
	t := m.text.only(chosen)
	w := newWriter(newSong(m.show, slices.Index(m.show.Files, m.file)), m.text, d.best.writer.forced)
	w.only = sections
	w.write()
	w.cues = slices.DeleteFunc(w.cues, func(c Cue) bool { return !chosen(c.At) })
	out, err := t.mergeCues(w.cues, w.find)
	if err != nil {
		return nil, err
	}
	return out, m.roomy(out)
}

// Sections returns the number of sections of the song.
func (d *Draft) Sections() int { return len(d.best.writer.parts) }

// roomy returns an error unless a draft has every line that people wrote.
func (m *improver) roomy(drafted []byte) error {
	before, _ := Clear(m.sources[m.file])
	after, _ := Clear(drafted)
	if !bytes.Equal(before, after) {
		return errNoRoom(m.file)
	}
	return nil
}

func errNoRoom(file string) error {
	return fmt.Errorf("%s is written in a form that leaves no room for lines; write sections and cues one a line, each starting with a dash", file)
}

// load loads the show with another source of this song.
func (m *improver) load(src []byte) (*shows.Show, language.Problems) {
	sources := maps.Clone(m.sources)
	sources[m.file] = src
	return m.loader.LoadSources(sources, m.unread, shows.Options{})
}

// bare loads the show without the drafted lines of this song, and without a heading
// "cues:" that has none left.
func (m *improver) bare() (*shows.Show, error) {
	t := m.text
	lines, from := t.cleared()
	f, err := t.find()
	if err == nil && f.head >= 0 && len(f.items) == 0 {
		if i := slices.Index(from, f.head); i >= 0 {
			lines = slices.Clone(lines)
			lines[i] = ""
		}
	}
	show, problems := m.load(t.Bytes(lines))
	for i := range problems {
		if p := &problems[i]; p.File == m.file && p.Line > 0 && p.Line <= len(from) {
			p.Line = from[p.Line-1] + 1
		}
	}
	return show, problems.Err()
}
