package panel

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tactus/clock"
	"tactus/shows/compose"
	"tactus/shows/language"
	"tactus/shows/plan"
	"tactus/shows/written"
)

// Composer changes the files of a show. Its methods may be called by several goroutines.
// What they return is as [compose.Session] has it.
type Composer interface {
	View() *compose.View
	Apply(revision uint64, edits []compose.Edit) (compose.State, error)
	Amend(revision uint64, edits []compose.Edit) (compose.State, error)
	Undo(revision uint64) (compose.State, error)
	Redo(revision uint64) (compose.State, error)
	Save(revision uint64) (compose.State, error)
	Reread() (compose.State, error)
	Discard(revision uint64) (compose.State, error)
	Try(edits []compose.Edit) []error
	DraftOf(v *compose.View, song string, sections []int) (compose.Drafted, error)
	RemedyOf(ctx context.Context, v *compose.View, song int32, kind plan.Kind, at clock.Beat) (compose.Remedy, bool, error)
	// Lamps says whether the light that plays is that of the edits.
	Lamps() Lamps
}

// Lamps says whether the light that plays follows edits.
type Lamps struct {
	Follow bool   `json:"follow"` // edits show at once
	Words  string `json:"words"`
}

// Composed is the answer to a request for the whole of what can be edited.
type Composed struct {
	State ComposeState `json:"state"`
	*written.Model
}

// Changed is the answer to a change: the state after it, and what is no longer as before.
type Changed struct {
	State   ComposeState    `json:"state"`
	Changed written.Changes `json:"changed"`
}

// ComposeState says where the edits of a show stand.
type ComposeState struct {
	Tag      string         `json:"tag"`      // goes into If-Match, in quotes, with the next change
	Revision uint64         `json:"revision"` // counts changes, from 1
	Saves    uint64         `json:"saves"`    // counts the times that files were saved or read again
	Unsaved  []string       `json:"unsaved"`  // files that are not on the disk as they are here
	Undo     string         `json:"undo"`     // what an undo would undo; "": nothing
	Redo     string         `json:"redo"`     // what a redo would do again; "": nothing
	Notes    []string       `json:"notes"`    // whose meaning for the DAW changes when these files are saved, in sentences
	Refused  []NotMadeAgain `json:"refused"`  // unsaved changes that could not be made again on files that another program changed
	Faults   []Fault        `json:"faults"`   // of the files as they are here
	Lamps    Lamps          `json:"lamps"`
}

// NotMadeAgain is an unsaved change that was left out.
type NotMadeAgain struct {
	Words string `json:"words"`
	Why   string `json:"why"`
}

// Fault is a fault in a show's files.
type Fault struct {
	File    string `json:"file"`
	Line    int    `json:"line"`   // from 1; 0: the whole file
	Column  int    `json:"column"` // from 1, in characters; 0: the whole line
	Path    string `json:"path"`   // place in the file: sections[2].chorus.look
	What    string `json:"what"`
	Allowed string `json:"allowed"` // what would be right, or ""
	Nearest string `json:"nearest"` // the name that was probably meant, or ""
}

// composing is what the panel keeps of a composer.
type composing struct {
	start   string        // makes tags of one start of the program differ from those of another
	turn    chan struct{} // one change at a time
	waiting chan struct{} // the changes that wait for their turn

	mu       sync.Mutex
	model    *written.Model
	revision uint64 // of model

	measuring measuring
	nights    nights
	reading   chan struct{} // one fixture or MIDI file is read at a time
}

// maxWaiting is how many changes wait for their turn at most. A page that sends edits as
// something is dragged sends the next after the answer to the last.
const maxWaiting = 16

func (c *composing) open(with Composer) {
	if with == nil {
		return
	}
	b := make([]byte, 6)
	_, _ = rand.Read(b) // never fails (crypto/rand)
	c.start = base64.RawURLEncoding.EncodeToString(b)
	c.turn, c.waiting = make(chan struct{}, 1), make(chan struct{}, maxWaiting)
	c.measuring.turn, c.nights.turn, c.reading = make(chan struct{}, 1), make(chan struct{}, 1), make(chan struct{}, 1)
}

// tag returns the tag of a revision.
func (c *composing) tag(revision uint64) string {
	return c.start + "." + strconv.FormatUint(revision, 10)
}

// etag returns an entity tag (RFC 9110, 8.8.3) of a revision.
func (c *composing) etag(revision uint64) string { return `"` + c.tag(revision) + `"` }

// matched returns the revision of an If-Match field; known is false for a tag of another
// start of the program. The field must have one tag, as the page sends it.
func (c *composing) matched(field string) (revision uint64, known bool, err error) {
	text, quoted := strings.CutPrefix(field, `"`)
	text, ends := strings.CutSuffix(text, `"`)
	start, number, parts := strings.Cut(text, ".")
	revision, bad := strconv.ParseUint(number, 10, 64)
	if !quoted || !ends || !parts || bad != nil {
		return 0, false, fmt.Errorf(`If-Match: %.60q: want the tag of the state in quotes, like %s`, field, c.etag(1))
	}
	return revision, start == c.start, nil
}

// modelOf returns the model of a view. Parts that are as before are not read again.
func (c *composing) modelOf(v *compose.View) *written.Model {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.model == nil || c.revision != v.State.Revision {
		m := written.Of(v.Show, v.Sources, c.model)
		if v.State.Revision < c.revision { // somebody was faster
			return m
		}
		c.model, c.revision = m, v.State.Revision
	}
	return c.model
}

// stateOf returns the state of a view for the page.
func (p *Panel) stateOf(v *compose.View) ComposeState {
	s := ComposeState{
		Tag: p.composing.tag(v.State.Revision), Revision: v.State.Revision, Saves: v.State.Saves,
		Unsaved: append([]string{}, v.State.Unsaved...), Undo: v.State.Undo, Redo: v.State.Redo,
		Notes:   p.notesOf(v),
		Refused: []NotMadeAgain{}, Faults: faultsOf(v.State.Faults), Lamps: p.c.Composer.Lamps(),
	}
	for _, r := range v.State.Refused {
		s.Refused = append(s.Refused, NotMadeAgain{r.Words, r.Why})
	}
	return s
}

// notesOf says which notes of the DAW change with the files of a view.
func (p *Panel) notesOf(v *compose.View) []string {
	list := []string{}
	if len(v.State.Notes) == 0 {
		return list
	}
	songs := p.composing.modelOf(v).Songs
	for _, m := range v.State.Notes {
		name := m.Song
		if i := slices.IndexFunc(songs, func(s written.Song) bool { return s.File == m.Song }); i >= 0 {
			name = songs[i].Name
		}
		list = append(list, m.Words(name))
	}
	return list
}

func faultsOf(list language.Problems) []Fault {
	out := []Fault{}
	for _, p := range list {
		out = append(out, Fault{p.File, p.Line, p.Column, p.Path, p.What, p.Allowed, p.Nearest})
	}
	return out
}

// ComposeEvent is the event of a new compose revision.
type ComposeEvent struct {
	Tag      string `json:"tag"`
	Revision uint64 `json:"revision"`
	Saves    uint64 `json:"saves"`
	Unsaved  int    `json:"unsaved"` // files
}

// ComposeChanged tells all open streams of the composer's present revision, and gives up
// measuring an older one. It is called after each change, whoever made it.
func (p *Panel) ComposeChanged() {
	p.composing.measuring.giveUpBefore(p.c.Composer.View().State.Revision)
	text := message("composed", p.composeEvent())
	p.stream.mu.Lock()
	defer p.stream.mu.Unlock()
	for v := range p.stream.viewers {
		replace(v.edited, text)
	}
}

func (p *Panel) composeEvent() ComposeEvent {
	s := p.c.Composer.View().State
	return ComposeEvent{p.composing.tag(s.Revision), s.Revision, s.Saves, len(s.Unsaved)}
}

// tellEdited tells a new stream of the present revision, if there is a composer.
func (p *Panel) tellEdited(v *viewer) {
	if p.c.Composer != nil {
		replace(v.edited, message("composed", p.composeEvent()))
	}
}
