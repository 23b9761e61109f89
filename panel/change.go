package panel

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"tactus/shows/compose"
	"tactus/shows/written"
)

// maxEditBody is the greatest length of a request with edits, in bytes.
const maxEditBody = 128 << 10

// ComposeRefusal is the answer to a change that was not made. The state is the present one.
type ComposeRefusal struct {
	Error     string        `json:"error"`
	State     *ComposeState `json:"state,omitempty"`
	Edit      *int          `json:"edit,omitempty"`      // which of the edits is refused, from 0; -1: all of them together
	Faults    []Fault       `json:"faults,omitempty"`    // why the loader refuses it
	Conflicts []ComposeFile `json:"conflicts,omitempty"` // files that another program has changed
}

// ComposeFile is a file that another program has changed since it was read.
type ComposeFile struct {
	File  string   `json:"file"`
	What  string   `json:"what"`
	Lines []string `json:"lines"` // what changed there, as lines of a unified diff
}

var errNoComposer = errors.New("this page changes no files here: 'tactus rehearse' does, and 'tactus run --compose'")

// hasComposer reports whether files can be changed, and refuses the request if not.
func (p *Panel) hasComposer(w http.ResponseWriter) bool {
	if p.c.Composer == nil {
		refuse(w, http.StatusForbidden, errNoComposer)
	}
	return p.c.Composer != nil
}

// composed answers with all that can be edited.
func (p *Panel) composed(w http.ResponseWriter, _ *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	send(w, http.StatusOK, Composed{p.stateOf(v), p.composing.modelOf(v)})
}

// changes are the words under compose/ that change something.
func changes() []string { return []string{"edit", "undo", "redo", "save", "reread", "discard"} }

// change makes a change: edits, or one of the other words.
func (p *Panel) change(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	word := r.PathValue("change")
	if !slices.Contains(changes(), word) {
		refuse(w, http.StatusNotFound, fmt.Errorf("unknown change %.60q; there are: %s", word, strings.Join(changes(), ", ")))
		return
	}
	revision, ok := p.isPresent(w, r)
	if !ok {
		return
	}
	asked, status, err := editsOf(w, r, word == "edit")
	if err != nil {
		p.refuseChange(w, status, err)
		return
	}
	if changed, ok := p.changeFrom(w, r, revision, func() error { return p.make(word, revision, asked) }); ok {
		send(w, http.StatusOK, changed)
	}
}

// changeFrom makes a change in its turn, if the revision is still the present one, and
// returns what has changed. It refuses the request if the change is not made.
func (p *Panel) changeFrom(w http.ResponseWriter, r *http.Request, revision uint64, change func() error) (changed Changed, ok bool) {
	end, ok := p.takeTurn(w, r)
	if !ok {
		return changed, false
	}
	defer end()
	if p.c.Composer.View().State.Revision != revision {
		p.refuseChange(w, http.StatusPreconditionFailed, errStale)
		return changed, false
	}
	before := p.composing.modelOf(p.c.Composer.View())
	if err := change(); err != nil {
		p.refuseChange(w, statusOf(err), err)
		return changed, false
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	return Changed{p.stateOf(v), sinceOf(p.composing.modelOf(v), before)}, true
}

func sinceOf(now, before *written.Model) written.Changes {
	if now == before {
		return written.Changes{}
	}
	return now.Since(before)
}

// make has the composer make a change.
func (p *Panel) make(word string, revision uint64, asked askedEdits) (err error) {
	c := p.c.Composer
	switch word {
	case "edit":
		if asked.amend {
			_, err = c.Amend(revision, asked.edits)
			break
		}
		_, err = c.Apply(revision, asked.edits)
	case "undo":
		_, err = c.Undo(revision)
	case "redo":
		_, err = c.Redo(revision)
	case "save":
		_, err = c.Save(revision)
	case "reread":
		_, err = c.Reread()
	case "discard":
		_, err = c.Discard(revision)
	}
	return err
}

var (
	errStale   = errors.New("the show has been edited since: fetch it again")
	errNoMatch = errors.New("If-Match is missing: it says which state of the show the change is for")
	errBusy    = errors.New("too many changes wait already; try again")
)

// isPresent returns the revision that a request is for, if it is the present one, and
// refuses the request if not. It waits for nothing, so that stale requests do not pile up.
func (p *Panel) isPresent(w http.ResponseWriter, r *http.Request) (revision uint64, ok bool) {
	field := r.Header.Get("If-Match")
	if field == "" {
		p.refuseChange(w, http.StatusPreconditionRequired, errNoMatch)
		return 0, false
	}
	revision, known, err := p.composing.matched(field)
	switch {
	case err != nil:
		p.refuseChange(w, http.StatusBadRequest, err)
	case !known || revision != p.c.Composer.View().State.Revision:
		p.refuseChange(w, http.StatusPreconditionFailed, errStale)
	default:
		return revision, true
	}
	return 0, false
}

// takeTurn waits until no other change is made. It refuses the request if too many wait.
func (p *Panel) takeTurn(w http.ResponseWriter, r *http.Request) (end func(), ok bool) {
	c := &p.composing
	select {
	case c.waiting <- struct{}{}:
	default:
		w.Header().Set("Retry-After", "1")
		p.refuseChange(w, http.StatusServiceUnavailable, errBusy)
		return nil, false
	}
	defer func() { <-c.waiting }()
	select {
	case c.turn <- struct{}{}:
		return func() { <-c.turn }, true
	case <-r.Context().Done():
		refuse(w, http.StatusServiceUnavailable, errors.New("the client that asked has disconnected"))
		return nil, false
	}
}

// askedEdits are the edits of a request.
type askedEdits struct {
	edits []compose.Edit
	amend bool // they go on with the last change: one undo takes both back
}

// editsOf reads the body of a change: {"edits": [...]}, or nothing where none are wanted.
func editsOf(w http.ResponseWriter, r *http.Request, wanted bool) (edits askedEdits, status int, err error) {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxEditBody))
	if tooLong := (*http.MaxBytesError)(nil); errors.As(err, &tooLong) {
		return edits, http.StatusRequestEntityTooLarge, fmt.Errorf("the body has more than %d bytes", tooLong.Limit)
	}
	if err != nil {
		return edits, http.StatusBadRequest, err
	}
	if !wanted {
		if text := bytes.TrimSpace(body); len(text) > 0 && string(text) != "{}" {
			return edits, http.StatusBadRequest, errors.New("want no body, or {}")
		}
		return edits, 0, nil
	}
	var asked struct {
		Edits json.RawMessage `json:"edits"`
		Amend bool            `json:"amend"`
	}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err = d.Decode(&asked); err == nil && d.More() {
		err = errors.New("something follows the object")
	}
	if err == nil && asked.Edits == nil {
		err = errors.New("edits is missing")
	}
	if err != nil {
		return edits, http.StatusBadRequest, fmt.Errorf(`the body is not like {"edits": [{"do": "set energy", ...}]}: %w`, err)
	}
	if edits.edits, err = compose.Decode(asked.Edits); err != nil {
		return edits, http.StatusBadRequest, err
	}
	edits.amend = asked.Amend
	return edits, 0, nil
}

// statusOf returns the status of a change that failed.
func statusOf(err error) int {
	refused := (*compose.Refused)(nil)
	switch {
	case errors.Is(err, compose.ErrStale):
		return http.StatusPreconditionFailed
	case errors.As(err, &refused):
		return http.StatusUnprocessableEntity
	}
	return http.StatusConflict // nothing to undo, changed on the disk, or it cannot be written
}

// refuseChange answers why a change was not made, and what the state is.
func (p *Panel) refuseChange(w http.ResponseWriter, status int, err error) {
	v := p.c.Composer.View()
	state := p.stateOf(v)
	answer := ComposeRefusal{Error: err.Error(), State: &state}
	if refused := (*compose.Refused)(nil); errors.As(err, &refused) {
		answer.Edit, answer.Faults = &refused.Edit, faultsOf(refused.Problems)
	}
	if conflict := (*compose.Conflict)(nil); errors.As(err, &conflict) {
		for _, f := range conflict.Files {
			answer.Conflicts = append(answer.Conflicts, ComposeFile{f.File, f.What, append([]string{}, f.Lines...)})
		}
	}
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	send(w, status, answer)
}
