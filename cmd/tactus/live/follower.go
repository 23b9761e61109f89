package live

import (
	"context"
	"errors"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/standby"
	"tactus/engine"
	"tactus/engine/journal"
)

// Follower is a standby before and while it has a show: the leader sends it, and then a
// session plays it. It implements standby.Show.
type Follower struct {
	options Options
	log     zerolog.Logger
	base    clock.Base
	pair    *standby.Pair
	begun   chan *Session // sessions to run, one after another

	mu      sync.Mutex
	session *Session // nil before the leader was reached
	end     context.CancelFunc
	ended   chan struct{} // closed when session has ended
}

// NewFollower prepares a standby with the options of its own computer. Those of the
// show, such as its set and its lead, come from the leader.
func NewFollower(f *Options, c standby.Config, log zerolog.Logger) *Follower {
	o := *f
	o.Standing, o.Follows = senders.NewStanding(senders.Place{Raised: -1}), true
	w := &Follower{options: o, log: log, base: clock.NewBase(), begun: make(chan *Session, 1)}
	w.options.Base = &w.base
	c.Base, c.Log, c.Show = w.base, log, w
	w.pair = standby.New(c)
	return w
}

// Run follows until ctx ends, or the leader ends the show. open is called for each
// session before it runs.
func (w *Follower) Run(ctx context.Context, open func(*Session) error) error {
	side, stop := context.WithCancel(context.WithoutCancel(ctx))
	var pair sync.WaitGroup
	pair.Go(func() { w.pair.Run(side) })
	defer pair.Wait()
	defer stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-w.pair.Over():
			return nil
		case s := <-w.begun:
			if err := w.run(ctx, s, open); err != nil {
				return err
			}
		}
	}
}

// run runs a session until ctx ends, the leader ends the show, or another session is to
// begin.
func (w *Follower) run(ctx context.Context, s *Session, open func(*Session) error) error {
	session, cancel := context.WithCancel(context.WithoutCancel(ctx))
	w.mu.Lock()
	w.end = cancel
	ended := w.ended
	w.mu.Unlock()
	defer close(ended)
	defer cancel()
	if err := open(s); err != nil {
		s.abandon()
		return err
	}
	stop := context.AfterFunc(ctx, func() {
		w.pair.Leave()
		cancel()
	})
	defer stop()
	go func() {
		select {
		case <-w.pair.Over():
			cancel()
		case <-session.Done():
		}
	}()
	err := s.Run(session)
	if err != nil && ctx.Err() == nil { // another session may follow
		w.log.Error().Err(err).Msg("standby: the outputs were not closed as the show's \"on exit\" says")
		return nil
	}
	return err
}

// partner returns the partner of the present session; nil without one.
func (w *Follower) partner() *partner {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.session == nil {
		return nil
	}
	return w.session.partner
}

// Now implements standby.Show.
func (w *Follower) Now() clock.Time {
	if p := w.partner(); p != nil {
		return p.Now()
	}
	return w.base.Now()
}

// Head implements standby.Show.
func (w *Follower) Head() journal.Header {
	if p := w.partner(); p != nil {
		return p.Head()
	}
	return journal.Header{}
}

// Archive implements standby.Show.
func (w *Follower) Archive() (archive []byte, content string) {
	if p := w.partner(); p != nil {
		return p.Archive()
	}
	return nil, ""
}

// RequestCheckpoint implements standby.Show.
func (w *Follower) RequestCheckpoint() {
	if p := w.partner(); p != nil {
		p.RequestCheckpoint()
	}
}

// FollowCounts implements standby.Show.
func (w *Follower) FollowCounts() engine.FollowCounts {
	if p := w.partner(); p != nil {
		return p.FollowCounts()
	}
	return engine.FollowCounts{}
}

// SetPlace implements standby.Show.
func (w *Follower) SetPlace(raised int8, onLamps bool) {
	w.options.Standing.Set(senders.Place{Raised: raised, OnLamps: onLamps})
}

// Record implements standby.Show.
func (w *Follower) Record(r *engine.Record, shift clock.Time) bool {
	p := w.partner()
	return p != nil && p.Record(r, shift)
}

// Reload implements standby.Show.
func (w *Follower) Reload(r *engine.Record, archive []byte, shift clock.Time) error {
	if p := w.partner(); p != nil {
		return p.Reload(r, archive, shift)
	}
	return errNoSession
}

// TakeOver implements standby.Show.
func (w *Follower) TakeOver(shift clock.Time) {
	if p := w.partner(); p != nil {
		p.TakeOver(shift)
	}
}

var errNoSession = errors.New("there is no show to go on with yet")

// endTime is how long a session may take to end before another one begins.
const endTime = 10 * time.Second

// Follow implements standby.Show. The first time, and where the leader's show has other
// universes than before, a session begins with it.
func (w *Follower) Follow(head *journal.Header, archive, checkpoint []byte, shift clock.Time) error {
	if p := w.partner(); p != nil {
		err := p.Follow(head, archive, checkpoint, shift)
		if !errors.Is(err, engine.ErrRestart) {
			return err
		}
		w.log.Warn().Err(err).Msg("standby: the leader's show has other universes; the outputs are opened again")
		if err := w.endSession(); err != nil {
			return err
		}
	}
	if archive == nil {
		return errNoSession
	}
	s, err := w.newSession(head, archive)
	if err != nil {
		return err
	}
	if err := s.partner.Follow(head, nil, checkpoint, shift); err != nil {
		s.abandon()
		return err
	}
	w.mu.Lock()
	w.session, w.ended = s, make(chan struct{})
	w.mu.Unlock()
	w.begun <- s
	return nil
}

// newSession makes a session for the leader's show.
func (w *Follower) newSession(head *journal.Header, archive []byte) (*Session, error) {
	show, err := loadArchive(archive, head.Set)
	if err != nil {
		return nil, err
	}
	f := w.options
	_, most := senders.LeadsOf(&show.Outputs)
	f.Name, f.Set, f.Archive, f.Ticking = head.Show, head.Set, archive, &head.Clock
	f.Lead = (head.Lead - most).Sub(0)
	s, err := New(show, &f, w.log)
	if err != nil {
		return nil, err
	}
	s.partner.pair = w.pair
	return s, nil
}

// endSession ends the present session and waits for it.
func (w *Follower) endSession() error {
	w.mu.Lock()
	end, ended := w.end, w.ended
	w.mu.Unlock()
	if end != nil {
		end()
	}
	wait, cancel := context.WithTimeout(context.Background(), endTime)
	defer cancel()
	select {
	case <-ended:
	case <-wait.Done():
		return errors.New("the show before does not end")
	}
	w.mu.Lock()
	w.session, w.end = nil, nil
	w.mu.Unlock()
	return nil
}

var (
	_ standby.Show = (*Follower)(nil)
	_ standby.Show = (*partner)(nil)
)
