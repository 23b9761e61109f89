package panel

import (
	"fmt"
	"net/http"
	"strings"

	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/newrig"
)

// Hangable is what can be hung, and where.
type Hangable struct {
	Profiles []HangableProfile `json:"profiles"` // those of the show by name, then those built in
	Places   []HangablePlace   `json:"places"`   // of a small hall
}

// HangableProfile is a fixture type.
type HangableProfile struct {
	Name   string `json:"name"`
	About  string `json:"about"`
	Source string `json:"source"` // "built in", or its file
	Slots  int    `json:"slots"`
	Heads  int    `json:"heads"`
	Light  bool   `json:"light"` // it gives light
}

// HangablePlace is a place with its usual measures in metres, as rig.yaml counts them.
type HangablePlace struct {
	Name  string     `json:"name"`
	About string     `json:"about"`
	From  [3]float64 `json:"from"`
	To    [3]float64 `json:"to"`
}

// hanging answers what can be hung, and where.
func (p *Panel) hanging(w http.ResponseWriter, _ *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	profiles := shows.BuiltInProfiles()
	if v.Show != nil {
		profiles = v.Show.Profiles
	}
	out := Hangable{Profiles: []HangableProfile{}, Places: []HangablePlace{}}
	for _, q := range profiles {
		out.Profiles = append(out.Profiles, HangableProfile{
			Name: q.Name, About: q.About, Source: q.Source, Slots: q.Footprint(), Heads: q.Heads,
			Light: q.GivesLight() || q.Has(fixtures.Intensity),
		})
	}
	for _, q := range newrig.Places() {
		out.Places = append(out.Places, HangablePlace{q.Name, q.About, q.From, q.To})
	}
	send(w, http.StatusOK, out)
}

// ownProfiles returns the profiles of a show's folder, as a description has them.
func ownProfiles(sources map[string][]byte) (list []newrig.Profile) {
	for name, src := range sources {
		stem, is := strings.CutPrefix(name, "profiles/")
		if stem, yaml := strings.CutSuffix(stem, ".yaml"); is && yaml {
			list = append(list, newrig.Profile{Name: stem, Text: string(src)})
		}
	}
	return list
}

// HangAnswer says what was understood of a description, and what was made of it.
type HangAnswer struct {
	Understood []string     `json:"understood"` // a row each, in words
	Remarks    []HangRemark `json:"remarks"`
	Made       *Changed     `json:"made"` // null: nothing was changed
}

// HangRemark is why a row cannot be used, or what was assumed.
type HangRemark struct {
	Line    int    `json:"line"` // of the list, from 1; 0: not of one line
	What    string `json:"what"` // the offending text, or what it is about
	Reason  string `json:"reason"`
	Nearest string `json:"nearest"` // the nearest name that exists, or ""
	Fault   bool   `json:"fault"`   // the row cannot be used
}

func (a *HangAnswer) remark(list ...newrig.Remark) {
	for _, r := range list {
		a.Remarks = append(a.Remarks, HangRemark{r.Line, r.What, r.Reason, r.Nearest, r.Fault})
	}
}

func (a *HangAnswer) faults() (n int) {
	for _, r := range a.Remarks {
		if r.Fault {
			n++
		}
	}
	return n
}

// understand adds a row to what was understood.
func (a *HangAnswer) understand(line int, format string, args ...any) {
	words := fmt.Sprintf(format, args...)
	if line > 0 {
		words = fmt.Sprintf("Line %d: %s", line, words)
	}
	a.Understood = append(a.Understood, words)
}
