package panel

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/shows/compose"
	"tactus/shows/draft"
	"tactus/shows/language"
	"tactus/shows/plan"
)

// Drafted is a draft of a song's cues that nobody has taken yet: the edit "draft song" takes
// it.
type Drafted struct {
	Tag       string       `json:"tag"` // of the state that was drafted from
	Revision  uint64       `json:"revision"`
	File      string       `json:"file"`      // of the song
	Character string       `json:"character"` // that the draft followed
	Why       string       `json:"why"`       // that is what it followed
	Rows      []DraftedRow `json:"rows"`      // of the whole song, in its order
	Strengths []float64    `json:"strengths"` // measured, by section, with the whole draft
	Lines     []string     `json:"lines"`     // what taking the sections that were asked for changes in the file, as lines of a unified diff; none: nothing
}

// DraftedRow is the light at a place of a song.
type DraftedRow struct {
	At      string   `json:"at"`
	In      string   `json:"in"`      // the passes of its section; "": all
	Section int      `json:"section"` // from 0; -1: it is no longer in the song
	Beat    float64  `json:"beat"`    // quarter notes from the song's first downbeat
	Look    string   `json:"look"`
	Effects []string `json:"effects"`
	Fade    string   `json:"fade"`
	Why     string   `json:"why"`
	State   string   `json:"state"` // new, same, changed, removed, or yours: a person wrote it, and it stays
}

// drafted answers with a draft, and changes nothing.
func (p *Panel) drafted(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	sections, err := sectionsAsked(r.URL.Query().Get("sections"))
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, err)
		return
	}
	file := r.URL.Query().Get("song")
	d, err := p.c.Composer.DraftOf(v, file, sections)
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, inWords(err))
		return
	}
	why, _, _ := strings.Cut(d.Why, "; a line ") // how a file names another is for who writes files
	out := Drafted{
		Tag: p.composing.tag(v.State.Revision), Revision: v.State.Revision, File: file, Character: d.Character, Why: why,
		Rows: []DraftedRow{}, Strengths: append([]float64{}, d.Strengths...), Lines: d.Lines(),
	}
	for i := range d.Rows {
		row := &d.Rows[i]
		out.Rows = append(out.Rows, DraftedRow{row.At, row.In, row.Section, round(quarters(row.Beat), 1000), row.Look, append([]string{}, row.Effects...), row.Fade, row.Reason, rowState(row)})
	}
	send(w, http.StatusOK, &out)
}

func rowState(r *draft.Row) string {
	switch {
	case r.Theirs:
		return "yours"
	case r.Removed:
		return "removed"
	case r.Before == draft.TheSame:
		return "same"
	case r.Before == draft.Otherwise:
		return "changed"
	}
	return "new"
}

// sectionsAsked reads the indexes of sections, separated by commas; none: the whole song.
func sectionsAsked(text string) (list []int, err error) {
	if text == "" {
		return nil, nil
	}
	for part := range strings.SplitSeq(text, ",") {
		i, err := strconv.Atoi(part)
		if err != nil || len(list) == 128 {
			return nil, fmt.Errorf("sections=%.60q: want indexes of sections from 0, like 2,3", text)
		}
		list = append(list, i)
	}
	return list, nil
}

// inWords says why something cannot be drafted to somebody who does not see the files'
// lines.
func inWords(err error) error {
	var problems language.Problems
	switch {
	case errors.As(err, &problems):
		return err
	case errors.Is(err, draft.ErrNoLadder):
		return errors.New("this show has no ladder to draft from: it says which look goes with which energy")
	case errors.Is(err, fs.ErrNotExist):
		return errors.New("the show has no such song")
	}
	return err
}

// Remedied is what can be done about a finding with one press.
type Remedied struct {
	Tag      string          `json:"tag"`
	Revision uint64          `json:"revision"`
	Words    string          `json:"words"` // what it does; "": there is none
	Edits    json.RawMessage `json:"edits"` // for compose/edit
}

// remedy answers with edits that take a finding of a song away, if there are some. It is
// given up when a newer edit comes.
func (p *Panel) remedy(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	song, ok := songAsked(w, r, v)
	if !ok {
		return
	}
	beat, err := strconv.ParseFloat(r.URL.Query().Get("beat"), 64)
	if err != nil || !(beat >= 0 && beat < 1e6) {
		refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("beat=%.60q: want the place of the finding in quarter notes", r.URL.Query().Get("beat")))
		return
	}
	ctx, end, ok := p.turnToMeasure(w, r, v)
	if !ok {
		return
	}
	defer end()
	found, ok, err := p.c.Composer.RemedyOf(ctx, v, song, plan.Kind(r.URL.Query().Get("finding")), clock.Beat(beat*float64(clock.Quarter)))
	if err != nil {
		refuse(w, http.StatusConflict, errNewer)
		return
	}
	out := Remedied{Tag: p.composing.tag(v.State.Revision), Revision: v.State.Revision, Edits: json.RawMessage("[]")}
	if ok {
		if out.Edits, err = compose.Encode(found.Edits); err != nil {
			refuse(w, http.StatusInternalServerError, err)
			return
		}
		out.Words = found.Words
	}
	send(w, http.StatusOK, &out)
}
