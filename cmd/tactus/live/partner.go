package live

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"sync"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/standby"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/panel"
	"tactus/shows"
)

// Queues between a session and its partner: seconds of a show.
const (
	pairRecords = 4096
	pairSteps   = 4096
)

// partner is the part of a session by which another computer stands by for it, or it for
// another. It implements standby.Show.
type partner struct {
	s       *Session
	records *engine.Journal // to the other computer
	steps   chan engine.Followed
	place   *senders.Standing
	pair    *standby.Pair
	runs    bool // the session runs pair; else whoever made it does
	follows bool // the loop begins by following

	mu      sync.Mutex
	head    journal.Header
	show    *shows.Show
	program *engine.Program // that plays, as far as is known
	archive []byte          // the files of show
	content string          // names the archive
	shift   clock.Time      // from the session's times to those of the show
	edits   *showfiles.Reloader
}

// newPartner prepares a session to have a partner; nil if the options ask for none.
func newPartner(s *Session, f *Options) *partner {
	if f.Standing == nil {
		return nil
	}
	return &partner{
		s: s, records: engine.NewJournal(pairRecords), steps: make(chan engine.Followed, pairSteps), place: f.Standing,
		show: s.show, program: s.show.Program, follows: f.Follows,
	}
}

// joinLoop has a loop record for the partner, and follow it.
func (p *partner) joinLoop(c *engine.LoopConfig) {
	if p == nil {
		return
	}
	if c.Journal == nil {
		c.Journal = p.records
	} else {
		c.Journal.Tee(p.records)
	}
	c.Followed, c.Follows = p.steps, p.follows
}

// archiveOf packs the files of a show by the name on the command line.
func archiveOf(f *Options) ([]byte, error) {
	if f.Archive != nil {
		return f.Archive, nil
	}
	if f.Kept != nil && f.Kept.Files != nil {
		return showfiles.Archive(f.Kept.Files, shows.Options{Set: f.Set})
	}
	files, err := showfiles.Open(f.Name)
	if err != nil {
		return nil, err
	}
	return showfiles.Archive(files, shows.Options{Set: f.Set})
}

// contentOf names an archive: equal ones have equal names.
func contentOf(archive []byte) string {
	if archive == nil {
		return ""
	}
	sum := sha256.Sum256(archive)
	return hex.EncodeToString(sum[:])
}

// Now implements standby.Show.
func (p *partner) Now() clock.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.s.base.Now() + p.shift
}

// Head implements standby.Show.
func (p *partner) Head() journal.Header {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.head
}

// Archive implements standby.Show.
func (p *partner) Archive() (archive []byte, content string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.archive, p.content
}

// RequestCheckpoint implements standby.Show.
func (p *partner) RequestCheckpoint() { p.s.loop.RequestCheckpoint() }

// FollowCounts implements standby.Show.
func (p *partner) FollowCounts() engine.FollowCounts { return p.s.loop.FollowCounts() }

// SetPlace implements standby.Show.
func (p *partner) SetPlace(raised int8, onLamps bool) {
	p.place.Set(senders.Place{Raised: raised, OnLamps: onLamps})
}

// give hands a step to the loop; false if there is no room.
func (p *partner) give(step engine.Followed) bool {
	p.mu.Lock()
	p.shift = step.Shift
	p.mu.Unlock()
	select {
	case p.steps <- step:
		return true
	default:
		return false
	}
}

// Record implements standby.Show.
func (p *partner) Record(r *engine.Record, shift clock.Time) bool {
	return p.give(engine.Followed{Record: *r, Shift: shift})
}

// TakeOver implements standby.Show.
func (p *partner) TakeOver(shift clock.Time) {
	step := engine.Followed{TakeOver: true, Shift: shift}
	if !p.give(step) {
		go func() { p.steps <- step }() // the loop is behind; it comes to this
	}
}

// Follow implements standby.Show. The universes have to be those that this session
// opened; else it has to begin again, and says so.
func (p *partner) Follow(head *journal.Header, archive, checkpoint []byte, shift clock.Time) error {
	p.mu.Lock()
	show, program := p.show, p.program
	same := archive == nil || contentOf(archive) == p.content
	p.mu.Unlock()
	if !same {
		var err error
		if show, err = loadArchive(archive, head.Set); err != nil {
			return err
		}
		if err := showfiles.SameOutputs(p.s.show, show); err != nil {
			return err
		}
		program = show.Program
	}
	restored, err := engine.RestoreCheckpoint(program, checkpoint)
	if err != nil {
		return err
	}
	if !same {
		p.replaced(show, program, archive)
	}
	p.mu.Lock()
	p.head = *head
	p.mu.Unlock()
	if !p.give(engine.Followed{Start: restored, Shift: shift}) {
		return fmt.Errorf("the loop is %d steps behind", pairSteps)
	}
	return nil
}

// Reload implements standby.Show.
func (p *partner) Reload(r *engine.Record, archive []byte, shift clock.Time) error {
	p.mu.Lock()
	set, old := p.head.Set, p.program
	p.mu.Unlock()
	show, err := loadArchive(archive, set)
	if err != nil {
		return err
	}
	reload, err := engine.NewReload(old, show.Program)
	if err != nil {
		return err
	}
	show.Program = reload.Program()
	p.replaced(show, show.Program, archive)
	if !p.give(engine.Followed{Record: *r, Reload: reload, Shift: shift}) {
		return fmt.Errorf("the loop is %d steps behind", pairSteps)
	}
	return nil
}

// replaced notes that another program is about to play, for those who know it by name.
func (p *partner) replaced(show *shows.Show, program *engine.Program, archive []byte) {
	p.mu.Lock()
	p.show, p.program, p.archive, p.content = show, program, archive, contentOf(archive)
	edits := p.edits
	p.mu.Unlock()
	if p.s.page != nil {
		p.s.page.panel.Edited(show)
	}
	if edits != nil {
		edits.Replace(program)
	}
	p.s.translator.replaced.Store(program)
}

// editPlays notes an edit of this computer's own files, before the loop has it.
func (p *partner) editPlays(e *showfiles.Edit) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.show, p.program, p.archive, p.content = e.Show, e.Reload.Program(), e.Archive, contentOf(e.Archive)
}

// onLamps reports whether this computer is on the lamps.
func (p *partner) onLamps() bool { return p == nil || p.pair == nil || p.pair.Status().OnLamps }

// refuseEdit undoes what a Reloader thinks of an edit that is not taken over.
func (p *partner) refuseEdit() {
	p.mu.Lock()
	program, edits := p.program, p.edits
	p.mu.Unlock()
	edits.Replace(program)
}

// loadArchive compiles the show in an archive.
func loadArchive(archive []byte, set string) (*shows.Show, error) {
	files, err := showfiles.OpenArchive(archive)
	if err != nil {
		return nil, err
	}
	show, problems := shows.Load(files, shows.Options{Set: set})
	if len(problems) > 0 {
		return nil, fmt.Errorf("the leader's show has faults here: %s", problems.Lines()[0])
	}
	return show, nil
}

// open gives the partner what the other computer is told.
func (p *partner) open(f *Options, ticking clock.Config) error {
	if p == nil {
		return nil
	}
	archive, err := archiveOf(f)
	if err != nil {
		return err
	}
	s := p.s
	p.archive, p.content = archive, contentOf(archive)
	p.head = journal.Header{
		Show: f.Name, Content: p.content, Set: f.Set, Program: f.Program, Started: s.base.Wall(0), Clock: ticking, Lead: s.lead,
		To: f.To, Interface: f.Interface, Protocol: f.Protocol, CID: s.outputs.CID,
	}
	for _, line := range senders.PriorityNotes(&s.show.Outputs) {
		s.log.Warn().Msg("standby: " + line)
	}
	return nil
}

// Pair makes this session the leader of a pair.
func (s *Session) Pair(c standby.Config) {
	p := s.partner
	c.Base, c.Log, c.Show = s.base, s.log, p
	p.pair, p.runs = standby.New(c), true
}

// run connects with the partner until ctx ends. It returns a function that ends it,
// after the loop.
func (p *partner) run() (end func()) {
	if p == nil || p.pair == nil {
		return func() {}
	}
	ctx, cancel := context.WithCancel(context.Background())
	var pair, records sync.WaitGroup
	records.Go(func() { p.pair.Records(p.records.Records()) })
	if p.runs {
		pair.Go(func() { p.pair.Run(ctx) })
	}
	return func() {
		p.records.Close()
		records.Wait()
		cancel()
		pair.Wait()
	}
}

// untilLeft returns a context that ends after ctx, when the partner has been told.
func (p *partner) untilLeft(ctx context.Context) (context.Context, context.CancelFunc) {
	if p == nil || !p.runs {
		return context.WithCancel(ctx)
	}
	loop, cancel := context.WithCancel(context.WithoutCancel(ctx))
	stop := context.AfterFunc(ctx, func() {
		p.pair.Leave()
		cancel()
	})
	return loop, func() { stop(); cancel() }
}

// ChangeOver asks for the lamps to change hands. Errors: those of standby.Pair.
func (s *Session) ChangeOver() error {
	if s.partner == nil || s.partner.pair == nil {
		return errNoPartner
	}
	return s.partner.pair.ChangeOver()
}

var errNoPartner = errors.New("no other computer stands by: see 'tactus run --help'")

// panelPartner returns what the page knows of the other computer; nil without one.
func (s *Session) panelPartner() panel.Partner {
	if s.partner == nil || s.partner.pair == nil {
		return nil
	}
	return pagePartner{s.partner.pair}
}

// pagePartner is a pair as the page sees it.
type pagePartner struct{ pair *standby.Pair }

// ChangeOver implements [panel.Partner].
func (p pagePartner) ChangeOver() error { return p.pair.ChangeOver() }

// Pair implements [panel.Partner].
func (p pagePartner) Pair() panel.Pair {
	s := p.pair.Status()
	behind := 0.0
	if !s.OnLamps {
		behind = math.Round(float64(s.Behind)/float64(clock.Millisecond)*10) / 10
	}
	return panel.Pair{OnLamps: s.OnLamps, Connected: s.Connected, Follows: s.Follows, BehindMS: behind, Differing: s.Differing, Words: s.String()}
}
