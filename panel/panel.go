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
	// Ask hands a wish to the loop. It never waits; false: there is no room.
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
	// Rehearsal is whether nothing hangs on what is asked for.
	Rehearsal bool
}

// Panel serves the page and its interface.
type Panel struct {
	c      Config
	mux    *http.ServeMux
	stream stream
	door   door
	known  known
}

// known is the show that the last snapshot was of.
type known struct {
	mu       sync.Mutex
	program  *engine.Program
	revision uint64 // of the program, from 1
}

// New makes a panel. It looks at nothing before [Panel.Run].
func New(c Config) *Panel {
	p := &Panel{c: c, mux: http.NewServeMux()}
	p.known.program, p.known.revision = c.Show.Program, 1
	p.stream.joined = make(chan struct{}, 1)
	p.routes()
	return p
}

// api is what every address of the interface starts with.
const api = "/api/v1/"

func (p *Panel) routes() {
	p.mux.Handle("GET /", assets())
	p.mux.HandleFunc("GET "+api+"access", p.access)
	p.mux.HandleFunc("POST "+api+"login", p.login)
	p.mux.HandleFunc("POST "+api+"logout", p.logout)
	p.mux.HandleFunc("GET "+api+"show", needs(Watch, p.show))
	p.mux.HandleFunc("GET "+api+"events", needs(Watch, p.events))
	p.mux.HandleFunc("POST "+api+"ask/{wish...}", needs(Control, p.ask))
	p.mux.HandleFunc("POST "+api+"player/{wish}", needs(Control, p.player))
	p.mux.HandleFunc("GET "+api+"explain", needs(Watch, p.explain))
	p.mux.HandleFunc("GET /healthz", needs(Watch, p.healthz))
	p.mux.HandleFunc("GET /metrics", needs(Watch, newMetrics(p).handler().ServeHTTP))
}

// Viewers returns how many look on.
func (p *Panel) Viewers() int { return p.stream.count() }

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
