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

	"tactus/cmd/tactus/usage"
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

// openPage listens on an address. With spare another port is taken where that one is
// in use.
func (s *Session) openPage(on, state string, spare, rehearsal bool, files *Notice) (*page, error) {
	at, err := net.ResolveTCPAddr("tcp", on)
	if err != nil {
		return nil, usage.Errorf("--panel-at %s: %v; want an address and a port, like %s", on, err, PageAddress)
	}
	access, err := accessFor(at, state)
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
	p := &page{listen: newPageListener(listen), files: files}
	p.panel = panel.New(panel.Config{
		Show: s.show, Base: s.base, Snapshot: s.loop.Snapshot, View: s.loop.View,
		Ask: s.shares.askByPage, Report: func() panel.Report { return p.report(s) }, Rehearsal: rehearsal,
		Access: access, Names: namesFor(&access), Player: s.player, Walker: s.walker, Partner: s.panelPartner(), Composer: s.panelComposer(), Usual: PageAddress,
	})
	p.server = &http.Server{
		Handler: p.panel, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second,
		WriteTimeout: 30 * time.Second, // streams have deadlines of their own
		IdleTimeout:  20 * time.Second, MaxHeaderBytes: 16 << 10,
	}
	return p, nil
}

// namesFor returns the names by which others may reach this computer's page: none unless
// it asks for a passphrase. A neighbour can claim a name, NAME.local above all (RFC 6762,
// 9), serve a page under it, and then let it mean this computer: to a browser that page
// and ours are the same site. With a passphrase such a page lacks the token, unless
// somebody has logged in under that very name.
func namesFor(a *panel.Access) []string {
	if !a.Needed() {
		return nil
	}
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
		s.abandon()
	}
	return err
}

// ShowPage shows the page's address: in the notice on the screen, or as a line.
func (s *Session) ShowPage(note *Notice, onScreen bool, lines io.Writer) {
	switch url := s.PageURL(); {
	case url == "":
	case onScreen:
		note.page = "steer it in a browser: " + url
	default:
		fmt.Fprintf(lines, "page: %s\n", url)
	}
}

// Visited reports whether anybody has looked at the page, now or before.
func (s *Session) Visited() bool { return s.page != nil && s.page.panel.Visited() }

// PageURL is what to open in a browser; "" without a page.
func (s *Session) PageURL() string {
	if s.page == nil {
		return ""
	}
	return "http://" + s.page.listen.Addr().String() + "/"
}

// runRehearsal runs the page and the player, where there are any.
func (s *Session) runRehearsal(ctx context.Context, group *sync.WaitGroup) {
	if s.page != nil {
		group.Go(func() { s.page.run(ctx, s) })
	}
	if s.player != nil {
		group.Go(func() {
			if s.player.Run(ctx); ctx.Err() == nil {
				close(s.ended)
			}
		})
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

// report tells the page what only the session knows.
func (p *page) report(s *Session) panel.Report {
	r := panel.Report{Ports: s.registry.list(s.base.Now()), Nodes: s.outputs.Nodes(s.base.Now()), Inputs: s.levelInputs.lines(), Dropped: s.droppedMIDI(), PageDropped: s.shares.pageRefused.Load()}
	for _, f := range s.outputs.LinkFaults() {
		r.Links = append(r.Links, f.Error())
	}
	if s.oscInput != nil {
		r.OSCDropped = s.oscInput.dropped.Load()
	}
	p.files.mu.Lock()
	defer p.files.mu.Unlock()
	r.Faults = append(r.Faults, p.files.faults...)
	return r
}
