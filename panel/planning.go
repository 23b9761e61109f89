package panel

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"tactus/engine"
	"tactus/shows/plan"
	"tactus/shows/plot"
	"tactus/shows/sheet"
)

// Planning is the result of "check" for one revision of a show.
type Planning struct {
	Revision uint64        `json:"revision"`
	Show     []Found       `json:"show"` // about the whole show
	Songs    []SongPlanned `json:"songs"`
}

// SongPlanned is the result for one song of the set.
type SongPlanned struct {
	Song     int32            `json:"song"`  // index in the show's songs
	Place    int              `json:"place"` // in the set, from 0
	Name     string           `json:"name"`
	Follows  *float64         `json:"follows"` // null when it cannot be calculated
	Sections []SectionPlanned `json:"sections"`
	Found    []Found          `json:"found"`
}

// SectionPlanned is the measured light of a section.
type SectionPlanned struct {
	Name       string  `json:"name"`
	Energy     int8    `json:"energy"`     // asked for, 0..10
	Strength   float64 `json:"strength"`   // measured, 0..10
	Brightness float64 `json:"brightness"` // CIE L*, 0..100
	Motion     float64 `json:"motion"`     // changes in a second, in Oklab
	Flashes    float64 `json:"flashes"`    // greatest number in any second
}

// Found is one finding of "check".
type Found struct {
	Finding    string  `json:"finding"`
	Severity   string  `json:"severity"`
	Place      string  `json:"place"`
	Beat       float64 `json:"beat"` // quarter notes from the song's first downbeat
	Written    string  `json:"written"`
	Reason     string  `json:"reason"`
	Suggestion string  `json:"suggestion"`
	Accepted   string  `json:"accepted"` // reason for accepting it; "": not accepted
}

// planner measures a show on request: once for each revision, one at a time.
type planner struct {
	turn     chan struct{} // one request measures, the others wait for the result
	program  *engine.Program
	night    *plan.Night
	planning Planning
	pictures [][]byte // SVG by place in the planning's songs; nil: not drawn yet
}

// plan answers with the findings.
func (p *Panel) plan(w http.ResponseWriter, r *http.Request) {
	planning, err := p.planned(r.Context())
	if err != nil {
		refuse(w, http.StatusServiceUnavailable, err)
		return
	}
	send(w, http.StatusOK, &planning)
}

// planned returns the findings. It holds no lock while they are sent, because a
// client may stall.
func (p *Panel) planned(ctx context.Context) (Planning, error) {
	n := &p.planner
	if err := n.lock(ctx); err != nil {
		return Planning{}, err
	}
	defer n.unlock()
	err := p.measure(ctx)
	return n.planning, err
}

// picture answers with the picture of a song's light.
func (p *Panel) picture(w http.ResponseWriter, r *http.Request) {
	src, status, err := p.pictureOf(r.Context(), r.URL.Query().Get("song"))
	if err != nil {
		refuse(w, status, err)
		return
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write(src) // the client may have disconnected
}

// pictureOf returns a song's picture, drawn once, or an HTTP status and an error.
func (p *Panel) pictureOf(ctx context.Context, text string) ([]byte, int, error) {
	n := &p.planner
	if err := n.lock(ctx); err != nil {
		return nil, http.StatusServiceUnavailable, err
	}
	defer n.unlock()
	if err := p.measure(ctx); err != nil {
		return nil, http.StatusServiceUnavailable, err
	}
	song, err := strconv.Atoi(text)
	if err != nil || song < 0 || song >= len(n.pictures) {
		return nil, http.StatusUnprocessableEntity, fmt.Errorf("song=%.20q: want a place in the plan's songs, from 0 to %d", text, len(n.pictures)-1)
	}
	if n.pictures[song] == nil {
		n.pictures[song] = plot.Score(n.night, song, sheet.Papers()[0]).SVG()
	}
	return n.pictures[song], http.StatusOK, nil
}

// lock waits for the planner, or until the client has gone.
func (n *planner) lock(ctx context.Context) error {
	select {
	case n.turn <- struct{}{}:
		return nil
	case <-ctx.Done():
		return errGone
	}
}

func (n *planner) unlock() { <-n.turn }

var errGone = errors.New("the client that asked for the plan has disconnected")

// measure measures the present show, unless it has been measured.
func (p *Panel) measure(ctx context.Context) error {
	program, revision := p.current()
	n := &p.planner
	if n.program == program {
		n.planning.Revision = revision
		return nil
	}
	show := p.showOf(program)
	night, err := plan.Measure(ctx, &show, plan.Options{})
	if err != nil {
		return errGone
	}
	n.program, n.night, n.pictures = program, night, make([][]byte, len(night.Songs))
	n.planning = planningOf(night, revision)
	return nil
}

// planningOf converts a measured night for the page.
func planningOf(night *plan.Night, revision uint64) Planning {
	report, set := plan.Report(night), night.Show.Program.SetList
	p := Planning{Revision: revision, Show: foundOf(report.Show), Songs: []SongPlanned{}}
	for i := range report.Songs {
		s := &report.Songs[i]
		out := SongPlanned{Song: s.Song, Place: slices.Index(set, s.Song), Name: s.Name, Follows: s.Follows, Found: foundOf(s.Findings), Sections: []SectionPlanned{}}
		for k := range s.Sections {
			x := &s.Sections[k]
			out.Sections = append(out.Sections, SectionPlanned{x.Name, x.Energy, x.Strength, x.Brightness, x.Motion, x.Flashes})
		}
		p.Songs = append(p.Songs, out)
	}
	return p
}

func foundOf(list []plan.Finding) []Found {
	out := []Found{}
	for _, f := range list {
		out = append(out, Found{
			string(f.Kind), f.Severity.String(), f.Place, round(quarters(max(f.Beat, 0)), 1000), f.Written, f.Reason, f.Suggestion, f.Accepted,
		})
	}
	return out
}
