package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/net/netutil"

	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/panel"
)

// PageAddress is where the page is unless --panel-at says otherwise.
const PageAddress = "127.0.0.1:4480"

// setPlayer plays the set of a rehearsal, and a page may steer it.
type setPlayer interface {
	panel.Player
	// Run plays until ctx or the set ends.
	Run(ctx context.Context)
}

// page serves the panel beside a session.
type page struct {
	panel  *panel.Panel
	server *http.Server
	listen net.Listener
	files  *Notice // what keeps an edit out
}

// openPage listens where on says. Where spare is set, a port that is in use is no
// fault: another is taken.
func (s *Session) openPage(on, state string, spare, rehearsal bool, files *Notice) (*page, error) {
	at, err := net.ResolveTCPAddr("tcp", on)
	if err != nil {
		return nil, usage.Errorf("--panel-at %s: %v; want an address and a port, like %s", on, err, PageAddress)
	}
	access, err := accessAt(at, state)
	if err != nil {
		return nil, err
	}
	listen, err := net.ListenTCP("tcp", at)
	if err != nil && spare {
		listen, err = net.ListenTCP("tcp", &net.TCPAddr{IP: at.IP})
	}
	if err != nil {
		return nil, usage.Errorf("--panel-at %s: %v", on, err)
	}
	p := &page{listen: netutil.LimitListener(thinListener{listen}, maxPages), files: files}
	c := panel.Config{
		Show: s.Show, Base: s.Base, Snapshot: s.loop.Snapshot, View: s.loop.View,
		Ask: s.ask, Report: func() panel.Report { return p.report(s) }, Rehearsal: rehearsal,
		Access: access, Names: ownNames(),
	}
	if s.player != nil {
		c.Player = s.player
	}
	if s.walker != nil {
		c.Walker = s.walker
	}
	p.panel = panel.New(c)
	p.server = &http.Server{
		Handler: p.panel, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second,
		WriteTimeout: 30 * time.Second, // streams have deadlines of their own
		IdleTimeout:  time.Minute, MaxHeaderBytes: 16 << 10,
	}
	return p, nil
}

// maxPages is how many connections there is room for.
const maxPages = 300

// thinListener keeps little for each connection in the system's buffers, so that
// a browser that does not read is noticed within seconds.
type thinListener struct{ *net.TCPListener }

const pageBuffer = 64 << 10

// Accept implements [net.Listener].
func (l thinListener) Accept() (net.Conn, error) {
	c, err := l.AcceptTCP()
	if err != nil {
		return nil, err
	}
	_ = c.SetWriteBuffer(pageBuffer) // the system's own size does as well, later
	return c, nil
}

// ownNames are what others may call this computer by.
func ownNames() []string {
	name, err := os.Hostname()
	if err != nil || name == "" {
		return nil
	}
	name = strings.ToLower(name)
	return []string{name, name + ".local"} // the second by multicast DNS (RFC 6762, 3)
}

// OpenPage opens the page if the flags ask for it.
func (s *Session) OpenPage(f *Options, rehearsal bool, files *Notice) (err error) {
	on, spare := f.PageAt, f.PageAt == ""
	if spare {
		on = PageAddress
	}
	if !f.Page && spare {
		return nil
	}
	if s.page, err = s.openPage(on, f.State, spare && rehearsal, rehearsal, files); err != nil {
		s.wire.Close()
	}
	return err
}

// TellPage says where the page is: on the screen, or in a line.
func (s *Session) TellPage(note *Notice, onScreen bool, lines io.Writer) {
	switch {
	case s.page == nil:
	case onScreen:
		note.page = "steer it in a browser: " + s.page.url()
	default:
		fmt.Fprintf(lines, "page: %s\n", s.page.url())
	}
}

// Visited reports whether anybody has looked at the page, now or before.
func (s *Session) Visited() bool { return s.page != nil && s.page.panel.Visited() }

// PageURL is what to open in a browser; "" without a page.
func (s *Session) PageURL() string {
	if s.page == nil {
		return ""
	}
	return s.page.url()
}

// runRehearsal runs the page and the player, where there are any.
func (s *Session) runRehearsal(ctx context.Context, group *sync.WaitGroup) {
	if s.page != nil {
		group.Go(func() { s.page.run(ctx, s) })
	}
	if s.player != nil {
		group.Go(func() {
			if s.player.Run(ctx); ctx.Err() == nil {
				close(s.Ended)
			}
		})
	}
}

// url is what to open in a browser.
func (p *page) url() string { return "http://" + p.listen.Addr().String() + "/" }

// ask hands a request to the loop, or says that there is no room.
func (s *Session) ask(in engine.Input) bool {
	select {
	case s.Input <- in:
		return true
	default:
		return false
	}
}

// run serves until ctx ends.
func (p *page) run(ctx context.Context, s *Session) {
	var group sync.WaitGroup
	group.Go(func() { p.panel.Run(ctx) })
	group.Go(func() {
		if err := p.server.Serve(p.listen); !errors.Is(err, http.ErrServerClosed) {
			s.log.Error().Err(err).Msg("the page is gone; the show goes on")
		}
	})
	<-ctx.Done()
	_ = p.server.Close() // streams have no end of their own
	group.Wait()
}

// report says what only the session knows.
func (p *page) report(s *Session) panel.Report {
	r := panel.Report{Ports: s.book.list(s.Base.Now()), Nodes: s.wire.Nodes(s.Base.Now()), Dropped: s.inbox.Dropped() + s.turns.dropped.Load()}
	if p.files != nil {
		p.files.mu.Lock()
		r.Faults = append(r.Faults, p.files.bad...)
		p.files.mu.Unlock()
	}
	return r
}
