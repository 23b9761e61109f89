package panel

import (
	"context"
	"net/http"
	"sync"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
)

// Config connects a panel to a show.
type Config struct {
	// Show is the show at the start. A Snapshot brings the program of a later
	// revision.
	Show *shows.Show
	// Snapshot copies the last frame; View returns the layers of the next.
	Snapshot func(*engine.Snapshot)
	View     func(context.Context) (*engine.View, error)
	// Ask passes a request to the loop without waiting; it returns false when the
	// queue is full.
	Ask  func(engine.Input) bool
	Base clock.Base
	// Report returns the health of the night, once a second.
	Report func() Report
	// Access decides which clients may do what.
	Access Access
	// Names are the names of this computer, in lower case, by which a browser may ask
	// for the page. Addresses and localhost are always accepted.
	Names []string
	// Player plays the set in a rehearsal; nil: a DAW or a file does.
	Player Player
	// Walker walks through the rig; nil: a show plays.
	Walker Walker
	// Partner is another computer that plays the same show; nil: there is none.
	Partner Partner
	// Composer changes the show's files; nil: the page changes none.
	Composer Composer
	// Usual is where the page usually is on this computer, ADDRESS:PORT, for the paper.
	Usual string
	// Rehearsal marks a rehearsal: requests do not affect a real show.
	Rehearsal bool
}

// Panel serves the page and its interface.
type Panel struct {
	c        Config
	mux      *http.ServeMux
	stream   stream
	sessions sessions

	planner   planner
	known     known
	composing composing
}

// known is the show of the last snapshot.
type known struct {
	mu       sync.Mutex
	program  *engine.Program
	revision uint64      // of the program, from 1
	edited   *shows.Show // the show of the edited files, until it plays; or nil
}

// New makes a panel. It reads no snapshot before [Panel.Run].
func New(c Config) *Panel {
	p := &Panel{c: c, mux: http.NewServeMux()}
	p.known.program, p.known.revision = c.Show.Program, 1
	p.stream.joined = make(chan struct{}, 1)
	p.planner.turn = make(chan struct{}, 1)
	p.composing.open(c.Composer)
	p.mux.Handle("GET /", assets())
	for _, r := range p.routes() {
		p.mux.HandleFunc(r.method+" "+r.path, requireRight(r.right, r.answer))
	}
	return p
}

// api is the prefix of every address of the interface.
const api = "/api/v1/"

// route is an address of the interface and the right it needs.
type route struct {
	method, path string
	right        Right
	answer       http.HandlerFunc
}

// routes returns all addresses except the page's own files. openapi.yaml describes
// each.
func (p *Panel) routes() []route {
	return []route{
		{"GET", api + "access", Nothing, p.access},
		{"POST", api + "login", Nothing, p.login},
		{"POST", api + "logout", Nothing, p.logout},
		{"GET", api + "show", Watch, p.show},
		{"GET", api + "events", Watch, p.events},
		{"GET", api + "explain", Watch, p.explain},
		{"GET", api + "plan", Watch, p.plan},
		{"GET", api + "picture", Watch, p.picture},
		{"GET", api + "openapi.yaml", Nothing, described},
		{"POST", api + "ask/{request...}", Control, p.ask},
		{"POST", api + "player/{request}", Control, p.player},
		{"POST", api + "walk/{word}", Control, p.walk},
		{"POST", api + "change-over", Control, p.changeOver},
		{"GET", api + "compose", Control, p.composed},
		{"POST", api + "compose/{change}", Control, p.change},
		{"GET", api + "compose/hanging", Control, p.hanging},
		{"POST", api + "compose/hang", Control, p.hang},
		{"POST", api + "compose/gdtf", Control, p.addGDTF},
		{"GET", api + "compose/measured", Control, p.measured},
		{"GET", api + "compose/draft", Control, p.drafted},
		{"GET", api + "compose/remedy", Control, p.remedy},
		{"GET", api + "compose/picture", Control, p.lookPicture},
		{"GET", api + "compose/night", Control, p.night},
		{"GET", api + "compose/night/measured", Control, p.nightMeasured},
		{"GET", api + "compose/paper", Control, p.paper},
		{"GET", api + "compose/plot", Control, p.plot},
		{"POST", api + "compose/midi", Control, p.midiFile},
		{"GET", api + "compose/effect", Control, p.effect},
		{"GET", api + "compose/look", Control, p.lookPreview},
		{"GET", api + "compose/looks", Control, p.looksMeasured},
		{"GET", api + "compose/reaches", Control, p.reaches},
		{"GET", api + "compose/colour", Control, p.colourMixed},
		{"GET", "/healthz", Watch, p.healthz},
		{"GET", "/metrics", Watch, newMetrics(p).handler().ServeHTTP},
	}
}

// Viewers returns the number of open streams.
func (p *Panel) Viewers() int { return p.stream.count() }

// Visited reports whether a stream is or was open.
func (p *Panel) Visited() bool {
	p.stream.mu.Lock()
	defer p.stream.mu.Unlock()
	return p.stream.visited
}

// Edited stores the show that the loop is about to take over. It becomes current
// with the first snapshot of its program.
func (p *Panel) Edited(show *shows.Show) {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	p.known.edited = show
}

// showOf returns a copy of the show that a program belongs to.
func (p *Panel) showOf(program *engine.Program) shows.Show {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	if e := p.known.edited; e != nil && e.Program == program {
		return *e
	}
	show := *p.c.Show
	if show.Program != program { // the stored file information belongs to another program
		show.Program, show.Accepted, show.NotesWritten, show.Files = program, nil, nil, nil
	}
	return show
}

// current returns the program of the last snapshot and its revision.
func (p *Panel) current() (*engine.Program, uint64) {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	return p.known.program, p.known.revision
}

// revisionOf stores the program of a snapshot and returns its revision.
func (p *Panel) revisionOf(program *engine.Program) uint64 {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	if program != nil && program != p.known.program {
		p.known.program = program
		p.known.revision++
	}
	return p.known.revision
}
