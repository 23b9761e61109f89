package standby

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/pairing"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/engine/stream"
)

// DefaultPort is where a leader listens unless it is told otherwise.
const DefaultPort = "4481"

// Times of a pair, in ticks.
const (
	tickEvery    = 10 * time.Millisecond
	stateEvery   = 5        // 50 ms between two messages with the state
	askTimeEvery = 25       // 250 ms between two comparisons of the clocks
	lostAfter    = 15       // 150 ms without a frame: the other side is lost
	lostAtMost   = 120      // 1.2 s, where the network between the two has been bad: see patience
	calmAfter    = 60 * 100 // 60 s without a change of hands, and without lostAfter between two frames: the network is good again
	resyncGrace  = 100      // 1 s for a new connection to bring the first frame
	quietAfter   = 100      // 1 s without any message: the connection is dead
	settleAfter  = 300      // 3 s until a raised priority goes back; receivers forget a lost source in 2.5 s (E1.31-2018, 6.7.1)
	changeEvery  = 100      // 1 s between two changes that are asked for: a nervous second press does nothing
	retryFollow  = 100      // 1 s between two requests for a checkpoint
	startQuiet   = 25       // 250 ms for a standby to say that it is on the lamps, after a leader's start
)

// Show is the show as a Pair steers it. Follow and Reload may take some time, all others
// return at once.
type Show interface {
	// Now returns the present time of the show that is played.
	Now() clock.Time
	// Head, Archive and Content are of the program that is played.
	Head() journal.Header
	Archive() (archive []byte, content string)
	// RequestCheckpoint asks for an engine.RecordCheckpoint among the records.
	RequestCheckpoint()
	// Follow follows from a checkpoint on. A nil archive is the show that is played here.
	Follow(head *journal.Header, archive, checkpoint []byte, shift clock.Time) error
	// Record gives the next record; false if there is no room for it.
	Record(r *engine.Record, shift clock.Time) bool
	// Reload goes on with an edited show after the last frame.
	Reload(r *engine.Record, archive []byte, shift clock.Time) error
	// TakeOver goes on live after the last record.
	TakeOver(shift clock.Time)
	FollowCounts() engine.FollowCounts
	// SetPlace has the senders stand beside those of the other side: see senders.Place.
	SetPlace(raised int8, onLamps bool)
}

// Config configures a Pair.
type Config struct {
	Leads      bool         // this is the leader; it starts on the lamps
	Listen     net.Listener // of the leader
	Dial       string       // ADDRESS:PORT of the leader, for the standby
	Key        pairing.Key
	Program    string // this program and its version
	Base       clock.Base
	Show       Show
	Log        zerolog.Logger
	RaiseAfter time.Duration // how long after a take-over the priority is raised

	// connect connects with the leader; nil: by TCP.
	connect func(ctx context.Context) (net.Conn, error)
}

// Errors of changing over.
var (
	ErrAlone = errors.New("the other computer does not follow: there is nobody to change over to")
	ErrSoon  = errors.New("the lamps have just changed hands; wait a second")
)

// Pair is this computer's part in a pair.
type Pair struct {
	c    Config
	over chan struct{} // closed when the other side has ended the show
	me   uint64        // this run, told apart from others

	mu        sync.Mutex
	state     stream.State
	link      *link // nil: not connected
	last      stream.State
	told      told
	offset    offsets
	ticks     int
	silent    int // ticks since the last frame while following
	patience  int // ticks without a frame after which the other side is lost; doubled when the other side took over though this one was well
	busy      bool
	changed   int  // tick of the last change of hands
	stalled   int  // tick at which no frame had come for lostAfter
	followed  bool // the other side has followed since this one went on the lamps
	gave      bool // the lamps were given to the other side since this one went on them
	asked     int  // tick of the last request for a checkpoint
	settled   int  // ticks for which a raised priority could go back
	raiseAt   int  // tick at which the priority is raised; 0: none
	started   bool
	overOnce  bool
	left      bool   // Leave was called
	differing uint64 // when a checkpoint was last asked for
}

// New makes a pair. The show stands in its first place from here on.
func New(c Config) *Pair {
	p := &Pair{c: c, over: make(chan struct{}), changed: -changeEvery, asked: -retryFollow, patience: lostAfter, me: newRun()}
	if c.Leads {
		p.state = stream.State{Turn: 1, OnLamps: true}
	} else {
		p.state = stream.State{Raised: -1}
	}
	// A leader that was started again may find a standby on the lamps.
	c.Show.SetPlace(p.state.Raised, false)
	return p
}

// Over is closed when the other side has ended the show by its own rule.
func (p *Pair) Over() <-chan struct{} { return p.over }

// Run connects, and watches the other side, until ctx ends.
func (p *Pair) Run(ctx context.Context) {
	var group sync.WaitGroup
	defer group.Wait()
	defer p.end()
	if p.c.Listen != nil {
		group.Go(func() { p.accept(ctx) })
		group.Go(func() { <-ctx.Done(); _ = p.c.Listen.Close() })
	} else {
		group.Go(func() { p.dial(ctx) })
	}
	tick := time.NewTicker(tickEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			p.tick()
		}
	}
}

// Records takes the records of this side's loop until the channel is closed, and sends
// them on while the other side follows.
func (p *Pair) Records(from <-chan engine.Record) {
	for r := range from {
		p.record(&r)
	}
}

func (p *Pair) record(r *engine.Record) {
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.link
	if l == nil {
		return
	}
	switch {
	case r.Kind == engine.RecordCheckpoint:
		if l.wants && p.state.OnLamps {
			p.sendCheckpoint(l, r.Checkpoint)
		}
	case r.Kind == engine.RecordEnd:
		if p.state.OnLamps && p.c.Leads {
			l.send(stream.AppendJSON(nil, stream.KindBye, stream.Bye{Over: true, Reason: "the show has ended"}))
		}
	case !l.streams || !p.state.OnLamps:
	case r.Kind == engine.RecordReload:
		archive, _ := p.c.Show.Archive()
		l.send(stream.Append(nil, stream.KindShow, archive))
		l.send(stream.AppendRecord(nil, r))
	case r.Kind != engine.RecordDropped:
		l.send(stream.AppendRecord(nil, r))
	}
}

// sendCheckpoint sends all that the other side needs to follow from here on.
func (p *Pair) sendCheckpoint(l *link, checkpoint []byte) {
	h := p.c.Show.Head()
	l.send(stream.Append(nil, stream.KindHead, h.AppendTo(nil)))
	if archive, content := p.c.Show.Archive(); content != l.has {
		l.send(stream.Append(nil, stream.KindShow, archive))
	}
	l.send(stream.Append(nil, stream.KindCheckpoint, checkpoint))
	l.wants, l.streams = false, true
}

// tick does what is due every 10 ms.
func (p *Pair) tick() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.ticks++
	counts := p.c.Show.FollowCounts()
	p.state.Frames, p.state.Differing = counts.Frames, counts.Differing
	if p.c.Leads && !p.started && p.ticks >= startQuiet {
		p.start()
	}
	if l := p.link; l != nil {
		if l.quiet++; l.quiet >= quietAfter {
			l.close()
		}
		if p.ticks%stateEvery == 0 {
			p.sendState()
		}
		p.follow(l)
	}
	if p.raiseAt != 0 && p.ticks >= p.raiseAt {
		p.raiseAt = 0
		p.raise(p.baseRaised(), true)
	}
	p.settle()
	if p.ticks-max(p.changed, p.stalled) >= calmAfter {
		p.patience = lostAfter
	}
	if p.state.OnLamps || !p.state.Synced || p.busy {
		return
	}
	if p.silent++; p.silent >= lostAfter {
		p.stalled = p.ticks
	}
	if p.silent >= p.patience {
		p.takeOver(fmt.Sprintf("no frame has come for %v", time.Duration(p.patience)*tickEvery))
	}
}

// follow does what a follower has to do now and then.
func (p *Pair) follow(l *link) {
	if p.state.OnLamps || !l.peer.OnLamps {
		return
	}
	if p.ticks%askTimeEvery == 0 {
		p.askTime(l)
	}
	if p.state.Differing > p.differing && p.ticks-p.asked >= retryFollow {
		p.c.Log.Warn().Uint64("frames", p.state.Differing-p.differing).Msg("standby: frames differ from those on the lamps; the whole state is asked for")
		p.askCheckpoint(l)
	}
	if !p.state.Synced && !p.busy && p.ticks-p.asked >= retryFollow {
		p.askCheckpoint(l)
	}
}

func (p *Pair) askTime(l *link) {
	l.send(stream.AppendFixed(nil, stream.KindAskTime, p.c.Base.Now()))
}

func (p *Pair) askCheckpoint(l *link) {
	p.asked, p.differing = p.ticks, p.state.Differing
	_, content := p.c.Show.Archive()
	l.send(stream.Append(nil, stream.KindFollow, []byte(content)))
}

func (p *Pair) sendState() {
	if p.link != nil {
		p.link.send(stream.AppendFixed(nil, stream.KindState, p.state))
	}
}

// Leave says goodbye, before the show ends here. A standby that is on the lamps gives
// them back if the leader follows; if not, it keeps them, so that the lamps see how the
// show ends. It does not wait.
func (p *Pair) Leave() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.state.OnLamps && p.c.Leads {
		return // the end of the show is told by its last record
	}
	follows := p.link != nil && p.link.peer.Synced
	p.bye()
	if p.state.OnLamps && follows {
		p.state.OnLamps, p.raiseAt = false, 0
		p.raise(p.followRaised(), false)
	}
	p.state.Synced, p.left = false, true
}

// bye ends the connection.
func (p *Pair) bye() {
	if p.link != nil {
		p.link.send(stream.AppendJSON(nil, stream.KindBye, stream.Bye{Reason: "it was stopped"}))
		p.link.finish()
	}
}

// end ends the connection and waits until all has been written.
func (p *Pair) end() {
	p.mu.Lock()
	p.bye()
	l := p.link
	p.mu.Unlock()
	if l != nil {
		<-l.written
		l.close()
	}
}
