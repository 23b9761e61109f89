package panel

import (
	"context"
	"fmt"
	"net/http"
	"sync"

	"tactus/clock"
	"tactus/engine/night"
	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/language"
	"tactus/shows/plan"
)

// NightPlanned is a set as edited, as it comes in the night. Nothing is measured for it.
// Seconds are counted from the start of the walk-in.
type NightPlanned struct {
	Tag      string      `json:"tag"` // of the state that it is for
	Revision uint64      `json:"revision"`
	Set      string      `json:"set"`    // its file
	Name     string      `json:"name"`   // of the set
	Length   float64     `json:"length"` // seconds, to the end of the last song
	Music    float64     `json:"music"`  // seconds of music in it
	Songs    []NightSong `json:"songs"`
}

// NightSong is a song of the night.
type NightSong struct {
	File     string         `json:"file"`
	Name     string         `json:"name"`
	Place    int            `json:"place"`  // in the set, from 0
	Start    float64        `json:"start"`  // seconds
	Length   float64        `json:"length"` // seconds
	Rest     float64        `json:"rest"`   // seconds from its end to the next song
	Sections []NightSection `json:"sections"`
}

// NightSection is a section of a song of the night.
type NightSection struct {
	Name   string  `json:"name"`
	Start  float64 `json:"start"`  // seconds
	Length float64 `json:"length"` // seconds
	Energy int8    `json:"energy"` // as written, 0..10
	Spoken bool    `json:"spoken"`
}

// NightMeasured is the measured light of a set as edited, with what "check" finds in it.
type NightMeasured struct {
	Tag string `json:"tag"` // of the state that was measured
	Set string `json:"set"` // its file
	Planning
}

// nights has what is known of the night of one set as edited. One request at a time
// measures it, the others wait.
type nights struct {
	turn     chan struct{}
	revision uint64 // of measured
	set      string // of measured, its file
	measured *plan.Night

	mu     sync.Mutex
	loader shows.Loader // of sets that do not play
}

// nightAsked returns the show of the present state with the set that a request names by
// its file, or without one the set that plays. It refuses the request if it cannot.
func (p *Panel) nightAsked(w http.ResponseWriter, r *http.Request) (*compose.View, *shows.Show, string) {
	if !p.hasComposer(w) {
		return nil, nil, ""
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	if v.Show == nil {
		refuse(w, http.StatusConflict, errFaulty)
		return nil, nil, ""
	}
	model, file := p.composing.modelOf(v), r.URL.Query().Get("set")
	for i := range model.Sets {
		s := &model.Sets[i]
		if s.File != file && (file != "" || !s.Plays) {
			continue
		}
		if s.Plays {
			return v, v.Show, s.File
		}
		show, problems := p.composing.nights.load(v, s.Name)
		if show == nil || show.Program.SetName != s.Name {
			refuse(w, http.StatusConflict, fmt.Errorf("%s cannot be played as it is: %w", s.File, problems))
			return nil, nil, ""
		}
		return v, show, s.File
	}
	if file == "" {
		return v, v.Show, "" // a show without sets plays all songs
	}
	refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("set=%.60q: want the file of a set, such as sets/november.yaml", file))
	return nil, nil, ""
}

// load compiles the show of a view with another set as the one that plays.
func (n *nights) load(v *compose.View, set string) (*shows.Show, language.Problems) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return v.WithSet(&n.loader, set)
}

// night answers with the night of a set as it is edited.
func (p *Panel) night(w http.ResponseWriter, r *http.Request) {
	v, show, set := p.nightAsked(w, r)
	if show == nil {
		return
	}
	out := nightOf(show)
	out.Tag, out.Revision, out.Set = p.composing.tag(v.State.Revision), v.State.Revision, set
	send(w, http.StatusOK, out)
}

// nightOf lists the songs of a show's set with their times.
func nightOf(show *shows.Show) *NightPlanned {
	program := show.Program
	out := &NightPlanned{Name: program.SetName, Songs: []NightSong{}}
	at := night.WalkIn
	songs := night.PlannedSongs(program)
	for i := range songs {
		s := &songs[i]
		song := &program.Songs[s.Index]
		length, rest := song.TimeAt(song.Length()), s.RestTime(program)
		one := NightSong{
			File: show.Files[s.Index], Name: song.Name, Place: s.Place, Start: seconds(at), Length: seconds(length), Rest: seconds(rest),
			Sections: []NightSection{},
		}
		for k := range song.Sections {
			x := &song.Sections[k]
			from, to := song.TimeAt(x.Start), song.TimeAt(x.Start+x.Length)
			one.Sections = append(one.Sections, NightSection{x.Name, seconds(at + from), seconds(to - from), x.Energy, x.Spoken})
		}
		out.Songs, out.Length, out.Music = append(out.Songs, one), seconds(at+length), out.Music+seconds(length)
		at += length + rest
	}
	return out
}

func seconds(t clock.Time) float64 { return round(t.Sub(0).Seconds(), 1000) }

// nightMeasured answers with the measured light of a set's night. It is given up when a
// newer edit comes.
func (p *Panel) nightMeasured(w http.ResponseWriter, r *http.Request) {
	v, show, set := p.nightAsked(w, r)
	if show == nil {
		return
	}
	ctx, end := p.untilNewer(r, v)
	defer end()
	measured, err := p.measureNight(ctx, w, v, show, set)
	if err != nil {
		refuse(w, http.StatusConflict, err)
		return
	}
	send(w, http.StatusOK, &NightMeasured{p.composing.tag(v.State.Revision), set, planningOf(measured, v.State.Revision)})
}

// mostMeasuring is how long a request may take to measure a night; sending is how long
// its answer may take.
const (
	mostMeasuring = 5 * 60 * clock.Second
	sending       = 30 * clock.Second
)

// measureNight measures the night of a set, unless that was done for this state. It waits
// until no other request measures one. The error is the reason for which ctx is done.
func (p *Panel) measureNight(ctx context.Context, w http.ResponseWriter, v *compose.View, show *shows.Show, set string) (*plan.Night, error) {
	n := &p.composing.nights
	p.allow(w, mostMeasuring)
	defer p.allow(w, sending)
	select {
	case n.turn <- struct{}{}:
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
	defer func() { <-n.turn }()
	if n.measured != nil && n.revision == v.State.Revision && n.set == set {
		return n.measured, nil
	}
	measured, err := plan.Measure(ctx, show, plan.Options{})
	if err != nil {
		return nil, context.Cause(ctx)
	}
	n.revision, n.set, n.measured = v.State.Revision, set, measured
	return measured, nil
}

// allow gives an answer some time from now on. A connection without deadlines needs none.
func (p *Panel) allow(w http.ResponseWriter, time clock.Time) {
	_ = http.NewResponseController(w).SetWriteDeadline(p.c.Base.Wall(p.c.Base.Now() + time))
}
