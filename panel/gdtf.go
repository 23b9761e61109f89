package panel

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"tactus/fixtures/gdtf"
	"tactus/shows/compose"
)

// maxGDTF is the greatest length of a fixture file, in bytes. Real ones have some megabytes
// of models and pictures, which are not read.
const maxGDTF = 32 << 20

// GDTFAnswer says what a fixture file has, and what was made of it.
type GDTFAnswer struct {
	Fixture string     `json:"fixture"` // the type's name
	Modes   []GDTFMode `json:"modes"`
	Profile string     `json:"profile"` // that was added; "": one of the modes is to be chosen
	LeftOut []string   `json:"leftOut"` // what the profile does not use, and why
	Made    *Changed   `json:"made"`    // null: nothing was changed
}

// GDTFMode is a mode of a fixture type.
type GDTFMode struct {
	Name  string `json:"name"`
	Slots []int  `json:"slots"` // of each of its start addresses
	Fault string `json:"fault"` // why it cannot be used, or ""
}

// addGDTF makes a profile of the show of a mode of a fixture file.
func (p *Panel) addGDTF(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	revision, ok := p.isPresent(w, r)
	if !ok {
		return
	}
	select {
	case p.composing.reading <- struct{}{}:
		defer func() { <-p.composing.reading }()
	default:
		w.Header().Set("Retry-After", "1")
		p.refuseChange(w, http.StatusServiceUnavailable, errors.New("another file is being read; try again"))
		return
	}
	f, status, err := gdtfOf(w, r)
	if err != nil {
		p.refuseChange(w, status, err)
		return
	}
	answer := GDTFAnswer{Fixture: f.Name, Modes: modesOf(f), LeftOut: []string{}}
	draft, err := draftOf(f, r.URL.Query().Get("mode"))
	switch {
	case errors.Is(err, errChoose):
		w.Header().Set("ETag", p.composing.etag(revision))
		send(w, http.StatusOK, answer)
		return
	case err != nil:
		p.refuseChange(w, http.StatusUnprocessableEntity, err)
		return
	}
	changed, ok := p.changeFrom(w, r, revision, func() error {
		_, err := p.c.Composer.Apply(revision, []compose.Edit{&compose.AddProfile{Profile: draft.Name, Text: string(draft.AppendTo(nil))}})
		return err
	})
	if ok {
		answer.Profile, answer.LeftOut, answer.Made = draft.Name, append(answer.LeftOut, draft.LeftOut...), &changed
		send(w, http.StatusOK, answer)
	}
}

// gdtfOf reads the fixture file of a request.
func gdtfOf(w http.ResponseWriter, r *http.Request) (*gdtf.Fixture, int, error) {
	src, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxGDTF))
	if tooLong := (*http.MaxBytesError)(nil); errors.As(err, &tooLong) {
		return nil, http.StatusRequestEntityTooLarge, fmt.Errorf("the file has more than %d MB", maxGDTF>>20)
	}
	if err != nil {
		return nil, http.StatusBadRequest, err
	}
	xml, _, err := gdtf.ReadDescription(bytes.NewReader(src), int64(len(src)))
	if err != nil {
		return nil, http.StatusUnprocessableEntity, err
	}
	var f gdtf.Fixture
	if err := f.Parse(xml); err != nil {
		return nil, http.StatusUnprocessableEntity, err
	}
	return &f, 0, nil
}

func modesOf(f *gdtf.Fixture) []GDTFMode {
	list := []GDTFMode{}
	for i := range f.Modes {
		_, slots := f.Modes[i].Footprint()
		m := GDTFMode{Name: f.Modes[i].Name, Slots: append([]int{}, slots...), Fault: f.Modes[i].Hazard}
		if len(slots) != 1 && m.Fault == "" {
			m.Fault = fmt.Sprintf("it has %d start addresses; 'tactus fixtures import' makes a profile of each", len(slots))
		}
		list = append(list, m)
	}
	return list
}

// errChoose means that a fixture type has several modes and none is asked for.
var errChoose = errors.New("choose a mode")

// draftOf makes a profile of a mode; "" is the only one.
func draftOf(f *gdtf.Fixture, mode string) (*gdtf.Draft, error) {
	for i := range f.Modes {
		m := &f.Modes[i]
		if m.Name != mode && (mode != "" || len(f.Modes) > 1) {
			continue
		}
		drafts, err := m.Drafts()
		if err != nil {
			return nil, err
		}
		if len(drafts) != 1 {
			return nil, fmt.Errorf("the mode %.60q has %d start addresses; 'tactus fixtures import' makes a profile of each", m.Name, len(drafts))
		}
		return &drafts[0], nil
	}
	if mode == "" && len(f.Modes) > 0 {
		return nil, errChoose
	}
	var names []string
	for i := range f.Modes {
		names = append(names, f.Modes[i].Name)
	}
	return nil, fmt.Errorf("no mode %.60q; modes are: %.300s", mode, strings.Join(names, ", "))
}
