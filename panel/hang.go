package panel

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"tactus/shows/compose"
	"tactus/shows/language"
	"tactus/shows/newrig"
	"tactus/shows/written"
)

// Limits of a request that says what hangs where.
const (
	maxHangBody = newrig.MaxList + 64<<10 // bytes
	maxHangRows = 200                     // that are added to a rig at once
)

// askedHang is the body of a request that says what hangs where.
type askedHang struct {
	Venue string    `json:"venue"` // name of the hall; "": as it is
	To    string    `json:"to"`    // where packets go, as newrig.ReadDestination understands it
	List  string    `json:"list"`  // of a spreadsheet
	Rows  []hangRow `json:"rows"`  // besides the list
	Skip  bool      `json:"skip"`  // leave out what is not understood
	Try   bool      `json:"try"`   // only say what would be made
}

// hangRow is a row of fixtures of one kind.
type hangRow struct {
	Name     string `json:"name"`
	Count    int    `json:"count"`
	Profile  string `json:"profile"`
	Place    string `json:"place"`
	Universe string `json:"universe"`
	Address  int    `json:"address"`
}

// hang adds what hangs where to the rig. A show of which nobody has said that yet gets its
// rig, looks, ladder and first song from it.
func (p *Panel) hang(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	revision, ok := p.isPresent(w, r)
	if !ok {
		return
	}
	asked, status, err := hangOf(w, r)
	if err != nil {
		p.refuseChange(w, status, err)
		return
	}
	v := p.c.Composer.View()
	d, answer, err := asked.describe(v.Sources)
	if err != nil {
		p.refuseChange(w, http.StatusUnprocessableEntity, err)
		return
	}
	edits := p.edits(v, d, answer)
	switch n := answer.faults(); {
	case asked.Try:
		w.Header().Set("ETag", p.composing.etag(v.State.Revision))
		send(w, http.StatusOK, answer)
		return
	case n > 0 && (!asked.Skip || len(edits) == 0) || len(edits) == 0:
		p.refuseChange(w, http.StatusUnprocessableEntity, refusedHang(answer))
		return
	}
	changed, ok := p.changeFrom(w, r, revision, func() error {
		_, err := p.c.Composer.Apply(revision, edits)
		return err
	})
	if ok {
		answer.Made = &changed
		send(w, http.StatusOK, answer)
	}
}

// refusedHang says why nothing is made: the first reason in words, and how many there are.
func refusedHang(a *HangAnswer) error {
	for _, r := range a.Remarks {
		if !r.Fault {
			continue
		}
		first := newrig.Remark{Line: r.Line, What: r.What, Reason: r.Reason, Nearest: r.Nearest}.String()
		if n := a.faults(); n > 1 {
			return fmt.Errorf("%s; and %d more", first, n-1)
		}
		return errors.New(first)
	}
	return errors.New("nothing is said; want a count and a profile")
}

// hangOf reads the body of a request.
func hangOf(w http.ResponseWriter, r *http.Request) (asked askedHang, status int, err error) {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxHangBody))
	if tooLong := (*http.MaxBytesError)(nil); errors.As(err, &tooLong) {
		return asked, http.StatusRequestEntityTooLarge, fmt.Errorf("the body has more than %d bytes", tooLong.Limit)
	}
	if err != nil {
		return asked, http.StatusBadRequest, err
	}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err = d.Decode(&asked); err == nil && d.More() {
		err = errors.New("something follows the object")
	}
	if err != nil {
		return asked, http.StatusBadRequest, fmt.Errorf(`the body is not like {"rows": [{"count": 4, "profile": "rgbw", "place": "front truss"}]}: %w`, err)
	}
	return asked, 0, nil
}

// describe makes a description of what was asked, with the remarks about the list.
func (a *askedHang) describe(sources map[string][]byte) (*newrig.Description, *HangAnswer, error) {
	answer := &HangAnswer{Understood: []string{}, Remarks: []HangRemark{}}
	d := &newrig.Description{Venue: a.Venue, Profiles: ownProfiles(sources)}
	to, err := newrig.ReadDestination(a.To)
	if err != nil {
		return nil, nil, err
	}
	if strings.TrimSpace(a.List) != "" {
		var names []string
		for _, own := range d.Profiles {
			names = append(names, own.Name)
		}
		listed, remarks := newrig.ReadList([]byte(a.List), newrig.ListOptions{Profiles: names})
		answer.remark(remarks...)
		d.Fixtures = listed.Fixtures
	}
	for _, row := range a.Rows {
		d.Fixtures = append(d.Fixtures, newrig.Fixture{Name: row.Name, Count: row.Count, Profile: row.Profile, Place: row.Place, Universe: row.Universe, Address: row.Address})
	}
	if to.Multicast || len(to.To) > 0 {
		for _, label := range newrig.UniverseLabels(d) {
			to.Label = label
			d.Universes = append(d.Universes, to)
		}
	}
	return d, answer, nil
}

// edits are what a description changes. Remarks go into the answer.
func (p *Panel) edits(v *compose.View, d *newrig.Description, answer *HangAnswer) []compose.Edit {
	rig := &p.composing.modelOf(v).Rig
	if rig.Undecided {
		return beginning(v, rig, d, answer)
	}
	rows, remarks := newrig.Hangings(d)
	answer.remark(remarks...)
	if len(rows) > maxHangRows {
		answer.remark(newrig.Remark{Reason: fmt.Sprintf("%d rows at once, at most %d", len(rows), maxHangRows), Fault: true})
		return nil
	}
	var edits []compose.Edit
	for i := range rows {
		edits = append(edits, additionOf(&rows[i], rig))
	}
	var made []compose.Edit
	for i, err := range p.c.Composer.Try(edits) {
		h := &rows[i]
		if err != nil {
			answer.remark(newrig.Remark{Line: h.Line, What: h.Name, Reason: reasonOf(err), Fault: true})
			continue
		}
		made = append(made, edits[i])
		answer.understand(h.Line, "%d × %s, called %s", h.Count, h.Profile, h.Name)
	}
	return made
}

// reasonOf says why an edit cannot be made, without the file.
func reasonOf(err error) string {
	var problems language.Problems
	if !errors.As(err, &problems) || len(problems) == 0 {
		return err.Error()
	}
	if problems[0].Allowed == "" {
		return problems[0].What
	}
	return problems[0].What + "; " + problems[0].Allowed
}

// additionOf returns the edit that adds a row.
func additionOf(h *newrig.Hanging, rig *written.Rig) compose.Edit {
	e := &compose.AddFixtures{
		Name: h.Name, Number: h.Number, Count: h.Count, Profile: h.Profile, Universe: universeNamed(h.Universe, rig),
		Address: h.Address, From: h.From[:], To: h.To[:],
	}
	if h.Watts > 0 {
		e.Watts = strconv.FormatFloat(h.Watts, 'f', -1, 64) + " W"
	}
	return e
}

// universeNamed returns the name in the rig of a universe that a list names by that, or by
// its number.
func universeNamed(label string, rig *written.Rig) string {
	i := slices.IndexFunc(rig.Universes, func(u written.Universe) bool { return strings.EqualFold(u.Name, label) })
	if i < 0 {
		n := strings.TrimSpace(strings.TrimPrefix(strings.ToLower(label), "universe"))
		i = slices.IndexFunc(rig.Universes, func(u written.Universe) bool { return u.Keys["sacn"] == n || u.Keys["art-net"] == n })
	}
	if i < 0 {
		return label
	}
	return rig.Universes[i].Name
}

// beginning makes the whole show of a description. A song and a set that somebody has
// changed stay as they are.
func beginning(v *compose.View, rig *written.Rig, d *newrig.Description, answer *HangAnswer) []compose.Edit {
	d.Venue = cmp.Or(strings.TrimSpace(d.Venue), rig.Venue)
	made, err := newrig.Make(d)
	var faults newrig.Faults
	if errors.As(err, &faults) {
		answer.remark(faults...)
		return nil
	}
	if err != nil {
		answer.remark(newrig.Remark{Reason: err.Error(), Fault: true})
		return nil
	}
	answer.remark(made.Remarks...)
	before, err := newrig.Undecided(rig.Venue)
	if err != nil {
		answer.remark(newrig.Remark{Reason: err.Error(), Fault: true})
		return nil
	}
	files := map[string][]byte{}
	for name, src := range made.Files {
		now, there := v.Sources[name]
		if name == "rig.yaml" || name == "looks.yaml" || !there || bytes.Equal(now, before.Files[name]) {
			files[name] = src
		}
	}
	program := made.Show.Program
	answer.understand(0, "%s on %s, %s, and a first song with its light", language.Count(len(program.Patch.Placements()), "fixture"),
		language.Count(len(program.Universes), "universe"), language.Count(len(program.Looks), "look"))
	return []compose.Edit{&compose.BeginShow{Venue: d.Venue, Files: files}}
}
