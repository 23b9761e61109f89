package panel

import (
	"context"
	"net/http"
	"sync"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows"
)

// Config says what a panel looks at and steers.
type Config struct {
	// Show is what plays. Its Program is that of the start: a revision comes with
	// a Snapshot.
	Show *shows.Show
	// Snapshot copies the last frame, and View the layers of the next one.
	Snapshot func(*engine.Snapshot)
	View     func(context.Context) (*engine.View, error)
	// Ask hands a request to the loop. It never waits; false: there is no room.
	Ask  func(engine.Input) bool
	Base clock.Base
	// Report tells what else is known of the night's health, once a second.
	Report func() Report
	// Access says who may do what.
	Access Access
	// Names are those that this computer is reached by, in small letters; its
	// addresses and localhost need not be among them.
	Names []string
	// Player is what plays in a rehearsal; nil: a DAW, or a file.
	Player Player
	// Walker walks the rig; nil: a show plays.
	Walker Walker
	// Rehearsal is whether nothing hangs on what is asked for.
	Rehearsal bool
}

// Panel serves the page and its interface.
type Panel struct {
	c      Config
	mux    *http.ServeMux
	stream stream
	door   door

	planner planner
	known   known
}

// known is the show that the last snapshot was of.
type known struct {
	mu       sync.Mutex
	program  *engine.Program
	revision uint64      // of the program, from 1
	edited   *shows.Show // what the files were edited to, last; or nil
}

// New makes a panel. It looks at nothing before [Panel.Run].
func New(c Config) *Panel {
	p := &Panel{c: c, mux: http.NewServeMux()}
	p.known.program, p.known.revision = c.Show.Program, 1
	p.stream.joined = make(chan struct{}, 1)
	p.mux.Handle("GET /", assets())
	for _, r := range p.routes() {
		p.mux.HandleFunc(r.method+" "+r.path, needs(r.right, r.answer))
	}
	return p
}

// api is what every address of the interface starts with.
const api = "/api/v1/"

// route is an address of the interface, and who may ask there.
type route struct {
	method, path string
	right        Right
	answer       http.HandlerFunc
}

// routes are all addresses but those of the page itself. openapi.yaml describes
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
		{"GET", "/healthz", Watch, p.healthz},
		{"GET", "/metrics", Watch, newMetrics(p).handler().ServeHTTP},
	}
}

// Viewers returns how many look on.
func (p *Panel) Viewers() int { return p.stream.count() }

// Visited reports whether anybody has looked on, now or before.
func (p *Panel) Visited() bool {
	p.stream.mu.Lock()
	defer p.stream.mu.Unlock()
	return p.stream.visited
}

// Edited notes the show that is on its way to the loop: with the first snapshot
// of its program it is the one that plays.
func (p *Panel) Edited(show *shows.Show) {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	p.known.edited = show
}

// showOf returns a copy of the show that a program is of.
func (p *Panel) showOf(program *engine.Program) shows.Show {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	if e := p.known.edited; e != nil && e.Program == program {
		return *e
	}
	show := *p.c.Show
	if show.Program != program { // what is known of the files is known of others
		show.Program, show.Accepted, show.NotesWritten, show.Files = program, nil, nil, nil
	}
	return show
}

// current returns the program that plays, as far as anybody looked, and which
// revision that is.
func (p *Panel) current() (*engine.Program, uint64) {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	return p.known.program, p.known.revision
}

// learn takes note of the program of a snapshot and returns its revision.
func (p *Panel) learn(program *engine.Program) uint64 {
	p.known.mu.Lock()
	defer p.known.mu.Unlock()
	if program != nil && program != p.known.program {
		p.known.program = program
		p.known.revision++
	}
	return p.known.revision
}
