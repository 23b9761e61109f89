package main

import (
	"context"
	"errors"
	"net"
	"net/http"
	"sync"
	"time"

	"tactus/engine"
	"tactus/panel"
)

// Where the page is unless --panel says otherwise.
const (
	panelAddress = "127.0.0.1:4480"
	panelOff     = "off"
)

// page serves the panel beside a session.
type page struct {
	panel  *panel.Panel
	server *http.Server
	listen net.Listener
	files  *notice // what keeps an edit out

}

// openPage listens where on says; nil where that is off. Where spare is set, a
// port that is taken is no fault: another is taken.
func (s *session) openPage(on string, spare, rehearsal bool, files *notice) (*page, error) {
	if on == panelOff || on == "" {
		return nil, nil
	}
	listen, err := net.Listen("tcp", on)
	if err != nil && spare {
		listen, err = net.Listen("tcp", "127.0.0.1:0")
	}
	if err != nil {
		return nil, usagef("--panel %s: %v", on, err)
	}
	p := &page{listen: listen, files: files}
	p.panel = panel.New(panel.Config{
		Show: s.show, Base: s.base, Snapshot: s.loop.Snapshot, View: s.loop.View,
		Ask: s.ask, Report: func() panel.Report { return p.report(s) }, Rehearsal: rehearsal,
	})
	p.server = &http.Server{
		Handler: p.panel, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second,
		IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10,
	}
	return p, nil
}

// openRehearsal opens the page of a rehearsal, which has one unless told not to.
func (s *session) openRehearsal(f *liveFlags, files *notice) (err error) {
	on, spare := f.panel, f.panel == ""
	if spare {
		on = panelAddress
	}
	if s.page, err = s.openPage(on, spare, true, files); err != nil {
		s.wire.close()
	}
	return err
}

// url is what to open in a browser.
func (p *page) url() string { return "http://" + p.listen.Addr().String() + "/" }

// ask hands a wish to the loop, or says that there is no room.
func (s *session) ask(in engine.Input) bool {
	select {
	case s.input <- in:
		return true
	default:
		return false
	}
}

// run serves until ctx ends.
func (p *page) run(ctx context.Context, s *session) {
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
func (p *page) report(s *session) panel.Report {
	r := panel.Report{Nodes: s.wire.nodes(s.base.Now()), Dropped: s.inbox.Dropped() + s.turns.dropped.Load()}
	if p.files != nil {
		p.files.mu.Lock()
		r.Faults = append(r.Faults, p.files.bad...)
		p.files.mu.Unlock()
	}
	return r
}
