package standby

import (
	"context"
	"net"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/pairing"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/engine/stream"
)

// actor is a show without light: while it is live it makes a frame every 22 ms.
type actor struct {
	mu      sync.Mutex
	base    clock.Base
	apart   clock.Time // its own clock is behind the other's by this
	pair    *Pair
	live    bool
	frame   uint64
	frozen  bool // makes no frames, as a loop that hangs
	wants   bool // a checkpoint with the next frame
	counts  engine.FollowCounts
	refuses error // of Follow
	shift   clock.Time
	raised  int8
	lamps   bool
	places  []int8
	got     []engine.Record
	archive string
	log     lockedText
}

func (a *actor) Now() clock.Time      { return a.base.Now() + a.apart }
func (a *actor) Head() journal.Header { return journal.Header{Show: "Harbour Hall", Lead: 5} }
func (a *actor) Archive() ([]byte, string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return []byte(a.archive), a.archive
}

func (a *actor) RequestCheckpoint() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.wants = true
}

func (a *actor) Follow(_ *journal.Header, archive, _ []byte, shift clock.Time) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.refuses != nil {
		return a.refuses
	}
	if archive != nil {
		a.archive = string(archive)
	}
	a.live, a.shift, a.counts.Following = false, shift, true
	return nil
}

func (a *actor) Record(r *engine.Record, shift clock.Time) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.shift = shift
	a.got = append(a.got, *r)
	if r.Kind == engine.RecordFrame {
		a.counts.Frames++
		a.frame = r.Frame + 1
	}
	return true
}

func (a *actor) Reload(r *engine.Record, archive []byte, shift clock.Time) error {
	a.mu.Lock()
	a.archive = string(archive)
	a.mu.Unlock()
	a.Record(r, shift)
	return nil
}

func (a *actor) TakeOver(shift clock.Time) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.live, a.shift, a.counts.Following = true, shift, false
}

func (a *actor) FollowCounts() engine.FollowCounts {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.counts
}

func (a *actor) SetPlace(raised int8, lamps bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.raised, a.lamps = raised, lamps
	a.places = append(a.places, raised)
}

// play makes frames until ctx ends.
func (a *actor) play(ctx context.Context) {
	tick := time.NewTicker(22 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		a.mu.Lock()
		var records []engine.Record
		if a.live && !a.frozen {
			records = append(records, engine.Record{Kind: engine.RecordFrame, At: a.base.Now() + a.apart, Frame: a.frame})
			a.frame++
			if a.wants {
				records = append(records, engine.Record{Kind: engine.RecordCheckpoint, Checkpoint: []byte("state")})
				a.wants = false
			}
		}
		a.mu.Unlock()
		for i := range records {
			a.pair.record(&records[i])
		}
	}
}

func (a *actor) place() (raised int8, lamps bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.raised, a.lamps
}

func (a *actor) set(f func()) {
	a.mu.Lock()
	defer a.mu.Unlock()
	f()
}

func (a *actor) has(f func() bool) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return f()
}

// lockedText is a log that is read while it is written.
type lockedText struct {
	mu   sync.Mutex
	text strings.Builder
}

func (l *lockedText) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

func (l *lockedText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// cable is a network between the two that can be cut.
type cable struct {
	mu      sync.Mutex
	cut     bool
	gone    bool          // nobody listens
	stalled chan struct{} // closed when it goes on; nil: it is not stalled
	accept  chan net.Conn
	over    chan struct{} // closed by Close
	open    []net.Conn
}

func (c *cable) Accept() (net.Conn, error) {
	select {
	case conn := <-c.accept:
		return conn, nil
	case <-c.over:
		return nil, net.ErrClosed
	}
}
func (c *cable) Close() error   { close(c.over); return nil }
func (c *cable) Addr() net.Addr { return &net.TCPAddr{} }

// connect blocks while the cable is cut, as packets that get lost do.
func (c *cable) connect(ctx context.Context) (net.Conn, error) {
	c.mu.Lock()
	cut, gone := c.cut, c.gone
	c.mu.Unlock()
	switch {
	case gone:
		return nil, syscall.ECONNREFUSED
	case cut:
		<-ctx.Done()
		return nil, ctx.Err()
	}
	a, b := net.Pipe()
	near, far := newCutConn(a, c), newCutConn(b, c)
	c.mu.Lock()
	c.open = append(c.open, near, far)
	c.mu.Unlock()
	select {
	case c.accept <- near:
		return far, nil
	case <-c.over:
		_, _ = near.Close(), far.Close()
		return nil, syscall.ECONNREFUSED
	case <-ctx.Done():
		_, _ = near.Close(), far.Close()
		return nil, ctx.Err()
	}
}

// cutConn is an end of a cable with room for what is on its way. While the cable is cut it
// loses what is written, and while it is stalled nothing gets through.
type cutConn struct {
	net.Conn
	cable  *cable
	queue  chan []byte
	once   sync.Once
	closed chan struct{}
}

func newCutConn(conn net.Conn, c *cable) *cutConn {
	e := &cutConn{Conn: conn, cable: c, queue: make(chan []byte, 64), closed: make(chan struct{})}
	go func() {
		for {
			select {
			case b := <-e.queue:
				if _, err := e.Conn.Write(b); err != nil {
					_ = e.Close()
				}
			case <-e.closed:
				return
			}
		}
	}()
	return e
}

func (c *cutConn) Close() error {
	c.once.Do(func() { close(c.closed) })
	return c.Conn.Close()
}

func (c *cutConn) SetWriteDeadline(time.Time) error { return nil }
func (c *cutConn) SetDeadline(t time.Time) error    { return c.SetReadDeadline(t) }

func (c *cutConn) Write(b []byte) (int, error) {
	c.cable.mu.Lock()
	cut, stalled := c.cable.cut, c.cable.stalled
	c.cable.mu.Unlock()
	switch {
	case stalled != nil:
		select {
		case <-stalled:
		case <-c.closed:
			return 0, net.ErrClosed
		}
	case cut:
		return len(b), nil
	}
	select {
	case c.queue <- append([]byte{}, b...):
		return len(b), nil
	case <-c.closed:
		return 0, net.ErrClosed
	}
}

func (c *cutConn) RemoteAddr() net.Addr { return &net.TCPAddr{IP: net.IPv4(10, 0, 0, 2)} }

func (c *cable) set(cut bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.cut = cut
	if !cut { // TLS has lost its place in what came before
		for _, conn := range c.open {
			_ = conn.Close()
		}
		c.open = nil
	}
}

// stall lets nothing through until it is called with false.
func (c *cable) stall(on bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.stalled != nil {
		close(c.stalled)
		c.stalled = nil
	}
	if on {
		c.stalled = make(chan struct{})
	}
}

// kill ends the leader's program: its connections are closed and nobody listens.
func (c *cable) kill() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.gone = true
	for _, conn := range c.open {
		_ = conn.Close()
	}
}

// duo is a leader and a standby in a bubble.
type duo struct {
	leader, standby *actor
	cable           *cable
	stopLeader      func()
	key             pairing.Key
}

func (d *duo) start(ctx context.Context, c Config, a *actor) (stop func()) {
	a.base = clock.NewBase().Shifted(-a.apart)
	c.Key, c.Base, c.Show, c.Log = d.key, a.base, a, zerolog.New(&a.log)
	a.pair = New(c)
	ctx, cancel := context.WithCancel(ctx)
	var group sync.WaitGroup
	group.Go(func() { a.pair.Run(ctx) })
	group.Go(func() { a.play(ctx) })
	return func() { cancel(); group.Wait() }
}

// newDuo starts both and waits until the standby follows.
func newDuo(t *testing.T, standby Config) *duo {
	d := &duo{
		leader: &actor{live: true, archive: "a show"}, standby: &actor{apart: 90 * clock.Second},
		cable: &cable{accept: make(chan net.Conn), over: make(chan struct{})}, key: pairing.NewKey(),
	}
	ctx, cancel := context.WithCancel(t.Context())
	d.stopLeader = d.start(ctx, Config{Leads: true, Listen: d.cable}, d.leader)
	standby.connect = d.cable.connect
	stop := d.start(ctx, standby, d.standby)
	t.Cleanup(func() { cancel(); d.stopLeader(); stop() })
	d.pass(time.Second)
	require.True(t, d.standby.pair.Status().Follows, "%s\n%s", &d.leader.log, &d.standby.log)
	require.True(t, d.leader.pair.Status().Follows)
	return d
}

// pass lets time pass.
func (d *duo) pass(span time.Duration) {
	time.Sleep(span)
	synctest.Wait()
}

func (d *duo) check(t *testing.T, leaderRaised int8, leaderLamps bool, standbyRaised int8, standbyLamps bool) {
	t.Helper()
	r, l := d.leader.place()
	assert.Equal(t, leaderRaised, r, "the leader's priority")
	assert.Equal(t, leaderLamps, l, "the leader is on the lamps")
	r, l = d.standby.place()
	assert.Equal(t, standbyRaised, r, "the standby's priority")
	assert.Equal(t, standbyLamps, l, "the standby is on the lamps")
}

func bubble(t *testing.T, standby Config, f func(t *testing.T, d *duo)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		f(t, newDuo(t, standby))
		synctest.Wait()
	})
}

// The standby gets the show and every record, and knows the leader's time.
func TestStandbyFollows(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		d.pass(5 * time.Second)
		d.check(t, 0, true, -1, false)
		assert.Equal(t, "a show", d.standby.archive)
		assert.Equal(t, d.leader.frame, d.standby.frame)
		assert.InDelta(t, float64(90*clock.Second), float64(d.standby.shift), float64(clock.Millisecond))
		d.leader.pair.record(&engine.Record{Kind: engine.RecordCommand, At: 7, NoteAt: 3, Command: engine.Command{Kind: engine.Hold}})
		d.leader.set(func() { d.leader.archive = "an edited show" })
		d.leader.pair.record(&engine.Record{Kind: engine.RecordReload, At: 8})
		d.pass(100 * time.Millisecond)
		assert.Equal(t, "an edited show", d.standby.archive)
		assert.True(t, d.standby.has(func() bool {
			for _, r := range d.standby.got {
				if r.Kind == engine.RecordCommand {
					return r.At == 7 && r.NoteAt == 3 && r.Command.Kind == engine.Hold
				}
			}
			return false
		}), "the command came")
	})
}

// Silence of 150 ms is a loss, 100 ms is not; one place is told a change.
func TestLeaderIsLost(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		for range 5 {
			d.leader.set(func() { d.leader.frozen = true })
			d.pass(100 * time.Millisecond)
			d.leader.set(func() { d.leader.frozen = false })
			d.pass(100 * time.Millisecond)
		}
		d.check(t, 0, true, -1, false)
		d.cable.set(true)
		d.pass(110 * time.Millisecond)
		d.check(t, 0, true, -1, false)
		d.pass(80 * time.Millisecond)
		d.check(t, 0, true, 1, true)
		assert.Equal(t, 1, strings.Count(d.standby.log.String(), "this one is on the lamps"))
		d.pass(10 * time.Second) // nothing more changes by itself
		d.check(t, 0, true, 1, true)

		d.cable.set(false) // it heals: the leader follows, and takes nothing
		d.pass(2 * time.Second)
		d.check(t, 0, false, 1, true)
		assert.True(t, d.leader.pair.Status().Follows, "%s", &d.leader.log)
		assert.False(t, d.leader.has(func() bool { return d.leader.live }))
		d.pass(time.Minute)
		d.check(t, 0, false, 1, true)

		require.NoError(t, d.leader.pair.ChangeOver()) // told on the one that follows
		d.pass(200 * time.Millisecond)
		d.check(t, 0, true, -1, false)
		assert.ErrorIs(t, d.leader.pair.ChangeOver(), ErrSoon)
		assert.ErrorIs(t, d.standby.pair.ChangeOver(), ErrSoon)
		d.pass(2 * time.Second)
		require.NoError(t, d.leader.pair.ChangeOver()) // told on the one on the lamps
		d.pass(200 * time.Millisecond)
		d.check(t, 0, false, 1, true)
	})
}

// A network that lets nothing through for 400 ms again and again: both computers are well,
// so the lamps change hands a few times at most, then each waits longer for the other, for as
// long as it goes on. After a minute without a stall, 150 ms are a loss again.
func TestStallsDoNotChangeHandsForEver(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		changes, standbyLamps := 0, false
		for range 100 { // 3 minutes
			for _, stalled := range []bool{true, false} {
				d.cable.stall(stalled)
				for range 40 {
					d.pass(10 * time.Millisecond)
					_, leader := d.leader.place()
					if _, lamps := d.standby.place(); lamps != leader && lamps != standbyLamps {
						standbyLamps = lamps
						changes++
					}
				}
			}
			d.pass(time.Second)
		}
		assert.Positive(t, changes, "a stall of 400 ms is a loss at first")
		assert.LessOrEqual(t, changes, 4, "%s\n%s", &d.leader.log, &d.standby.log)
		d.pass(time.Minute)
		follower, onLamps := d.leader, d.standby
		if !standbyLamps {
			follower, onLamps = d.standby, d.leader
		}
		onLamps.set(func() { onLamps.frozen = true })
		d.pass(250 * time.Millisecond)
		_, lamps := follower.place()
		assert.True(t, lamps, "after a minute")
	})
}

// More patience ends a minute after the last change also for the computer on the lamps: when
// it is taken for lost two minutes later, it waits 300 ms for the other and no longer.
func TestPatienceEndsOnTheLamps(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		stall := func() {
			d.cable.stall(true)
			d.pass(400 * time.Millisecond)
			d.cable.stall(false)
			d.pass(2 * time.Second)
			d.check(t, 0, false, 1, true)
		}
		stall()
		require.NoError(t, d.leader.pair.ChangeOver())
		d.pass(2 * time.Minute)
		d.check(t, 0, true, -1, false)
		stall()
		d.standby.set(func() { d.standby.frozen = true })
		d.pass(400 * time.Millisecond)
		_, lamps := d.leader.place()
		assert.True(t, lamps, "%s", &d.leader.log)
	})
}

// A leader that was started again was not taken for lost by mistake: it waits 150 ms for the
// standby that went on the lamps.
func TestLeaderStartedAgainIsNotPatient(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		d.cable.kill()
		d.stopLeader()
		d.pass(time.Second)
		d.cable.mu.Lock()
		d.cable.gone, d.cable.over = false, make(chan struct{})
		d.cable.mu.Unlock()
		d.leader = &actor{live: true, archive: "a show"}
		d.stopLeader = d.start(t.Context(), Config{Leads: true, Listen: d.cable}, d.leader)
		d.pass(2 * time.Second)
		d.check(t, 0, false, 1, true)
		require.True(t, d.leader.pair.Status().Follows, "%s", &d.leader.log)
		d.standby.set(func() { d.standby.frozen = true })
		d.pass(250 * time.Millisecond)
		_, lamps := d.leader.place()
		assert.True(t, lamps, "%s", &d.leader.log)
	})
}

// A loop that hangs is lost, though its program still talks; and it follows later.
func TestLoopThatHangsIsLost(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		d.leader.set(func() { d.leader.frozen = true })
		d.pass(250 * time.Millisecond)
		d.check(t, 0, false, 1, true)
		d.leader.set(func() { d.leader.frozen = false })
		d.pass(time.Second)
		d.check(t, 0, false, 1, true)
	})
}

// A program that has ended is lost at once.
func TestEndedProgramIsLostAtOnce(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		d.cable.kill()
		d.pass(5 * time.Millisecond)
		_, lamps := d.standby.place()
		assert.True(t, lamps)
		assert.Contains(t, d.standby.log.String(), "its program has ended")
	})
}

// A standby that is lost while it is on the lamps is replaced by the leader, one step
// above; once it follows again, and receivers have forgotten its old priority, the
// leader's is the show's.
func TestStandbyIsLostOnTheLamps(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		require.NoError(t, d.leader.pair.ChangeOver())
		d.pass(2 * time.Second)
		d.check(t, 0, false, 1, true)
		d.standby.set(func() { d.standby.frozen = true })
		d.pass(250 * time.Millisecond)
		d.check(t, 2, true, -1, false)
		d.standby.set(func() { d.standby.frozen = false })
		d.pass(2 * time.Second)
		d.check(t, 2, true, -1, false)
		d.pass(2 * time.Second)
		d.check(t, 0, true, -1, false)
	})
}

func TestRaiseAfter(t *testing.T) {
	bubble(t, Config{RaiseAfter: 3 * time.Second}, func(t *testing.T, d *duo) {
		d.cable.kill()
		d.pass(2900 * time.Millisecond)
		raised, lamps := d.standby.place()
		assert.True(t, lamps)
		assert.EqualValues(t, -1, raised)
		d.pass(200 * time.Millisecond)
		raised, _ = d.standby.place()
		assert.EqualValues(t, 1, raised)
	})
}

// The end of the show is no loss, for the standby; a standby that is stopped gives the
// lamps back.
func TestEnds(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		d.leader.pair.record(&engine.Record{Kind: engine.RecordEnd})
		d.pass(time.Second)
		select {
		case <-d.standby.pair.Over():
		default:
			assert.Fail(t, "the end is not told")
		}
		_, lamps := d.standby.place()
		assert.False(t, lamps)
	})
}

// A standby that leaves while it is on the lamps gives them back.
func TestLeavingGivesTheLampsBack(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		require.NoError(t, d.standby.pair.ChangeOver())
		d.pass(2 * time.Second)
		d.check(t, 0, false, 1, true)
		p := d.leader.pair
		p.mu.Lock()
		l := p.link
		p.mu.Unlock()
		bye := []byte(`{"reason": "it was stopped"}`)
		require.ErrorIs(t, p.take(l, stream.KindBye, bye), errBye)
		p.part(l, errBye)
		_, lamps := d.leader.place()
		assert.True(t, lamps)
		d.standby.pair.Leave()
		raised, lamps := d.standby.place()
		assert.False(t, lamps)
		assert.EqualValues(t, -1, raised)
	})
}

// A standby that is alone on the lamps keeps them while its show ends: nobody else has
// light for them.
func TestLeavingAloneKeepsTheLamps(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		d.cable.kill()
		d.pass(time.Second)
		raised, lamps := d.standby.place()
		require.True(t, lamps)
		require.EqualValues(t, 1, raised)
		d.standby.pair.Leave()
		d.pass(5 * time.Second)
		raised, lamps = d.standby.place()
		assert.True(t, lamps)
		assert.EqualValues(t, 1, raised)
	})
}

// A priority that was to be raised stays as it is once the lamps are given back.
func TestLeavingBeforeTheRaise(t *testing.T) {
	bubble(t, Config{RaiseAfter: 3 * time.Second}, func(t *testing.T, d *duo) {
		d.leader.set(func() { d.leader.frozen = true })
		d.pass(250 * time.Millisecond)
		d.leader.set(func() { d.leader.frozen = false })
		d.pass(time.Second)
		require.True(t, d.leader.pair.Status().Follows, "%s", &d.leader.log)
		d.standby.pair.Leave()
		d.pass(5 * time.Second)
		d.check(t, 0, true, -1, false)
	})
}

// Whoever does not read is cut off, and the leader never waits.
func TestSlowStandbyIsCutOff(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		d.leader.pair.mu.Lock()
		l := d.leader.pair.link
		d.leader.pair.mu.Unlock()
		require.NotNil(t, l)
		d.cable.mu.Lock()
		d.cable.stalled = make(chan struct{})
		d.cable.mu.Unlock()
		for range 2 * maxQueued { // no time passes: nothing waits
			d.leader.pair.record(&engine.Record{Kind: engine.RecordFrame, At: d.leader.Now()})
		}
		synctest.Wait()
		assert.Contains(t, d.leader.log.String(), "is cut")
		d.cable.mu.Lock()
		close(d.cable.stalled)
		d.cable.stalled = nil
		d.cable.mu.Unlock()
		d.pass(2 * time.Second)
		d.check(t, 0, true, -1, false)
		assert.True(t, d.standby.pair.Status().Follows, "it comes again\n%s", &d.standby.log)
	})
}

// A checkpoint is asked for again where frames differ or records are missing.
func TestStateIsAskedForAgain(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		follows := func() int { return strings.Count(d.standby.log.String(), "the whole state is asked for") }
		d.standby.set(func() { d.standby.counts.Differing = 3 })
		d.pass(3 * time.Second)
		assert.Equal(t, 1, follows(), "once for what has been seen")
		assert.True(t, d.standby.pair.Status().Follows)
		assert.EqualValues(t, 3, d.leader.pair.Status().Differing, "the leader knows it")
	})
}

func TestFollowThatFails(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := &duo{leader: &actor{live: true, archive: "a"}, standby: &actor{refuses: assert.AnError}, cable: &cable{accept: make(chan net.Conn), over: make(chan struct{})}, key: pairing.NewKey()}
		ctx, cancel := context.WithCancel(t.Context())
		stop1 := d.start(ctx, Config{Leads: true, Listen: d.cable}, d.leader)
		stop2 := d.start(ctx, Config{connect: d.cable.connect}, d.standby)
		d.pass(5 * time.Second)
		assert.False(t, d.standby.pair.Status().Follows)
		assert.Equal(t, 1, strings.Count(d.standby.log.String(), "cannot be followed"), "told once")
		assert.ErrorIs(t, d.leader.pair.ChangeOver(), ErrAlone)
		d.cable.kill() // a standby that never followed has nothing to go on with
		d.pass(time.Second)
		_, lamps := d.standby.place()
		assert.False(t, lamps)
		cancel()
		stop1()
		stop2()
	})
}

// Another key, another standby, and what cannot be right.
func TestUnwantedConnections(t *testing.T) {
	bubble(t, Config{}, func(t *testing.T, d *duo) {
		stranger := &actor{}
		other := &duo{key: pairing.NewKey()}
		stop := other.start(t.Context(), Config{connect: d.cable.connect}, stranger)
		d.pass(time.Second)
		assert.Equal(t, 1, strings.Count(d.leader.log.String(), "a connection was refused"), "told once")
		assert.Contains(t, stranger.log.String(), "different pairing keys")
		stop()

		second := &actor{}
		stop = (&duo{key: d.key}).start(t.Context(), Config{connect: d.cable.connect}, second)
		d.pass(time.Second)
		assert.False(t, second.pair.Status().Follows)
		assert.True(t, d.standby.pair.Status().Follows, "the first is not disturbed")
		stop()
		d.check(t, 0, true, -1, false)
	})
}

// Nothing that comes from the other side makes a pair stop or panic.
func TestOddMessages(t *testing.T) {
	for k := range stream.Kind(20) {
		bubble(t, Config{}, func(t *testing.T, d *duo) {
			for _, payload := range [][]byte{nil, {1, 2, 3}, make([]byte, 128), []byte("\x00\x00\x00\x00\x00\x00\x00\x001.000000000 gap 5")} {
				p := d.standby.pair
				p.mu.Lock()
				l := p.link
				p.mu.Unlock()
				if l != nil {
					_ = p.take(l, k, payload)
				}
				d.pass(50 * time.Millisecond)
			}
			leader, standby := d.leader.pair.Status(), d.standby.pair.Status()
			assert.True(t, leader.OnLamps != standby.OnLamps || k == stream.KindBye, "kind %d: one of the two is on the lamps", k)
		})
	}
}

func TestOffsets(t *testing.T) {
	var o offsets
	assert.Zero(t, o.best())
	o.add(1000, 1400, 5200) // 400 there and back: 4000 ± 200
	assert.EqualValues(t, 4000, o.best())
	assert.EqualValues(t, 200, o.slack())
	o.add(2000, 2020, 6100) // 20: 4090 ± 10
	o.add(3000, 3900, 9999)
	assert.EqualValues(t, 4090, o.best())
	o.add(5, 4, 7) // answered before it was asked
	assert.EqualValues(t, 4090, o.best())
	for i := range clock.Time(20) { // old ones are forgotten
		o.add(i*1000, i*1000+100, i*1000+4550)
	}
	assert.EqualValues(t, 4500, o.best())
}

func TestStatusInWords(t *testing.T) {
	for want, s := range map[string]Status{
		"this computer, the leader, is on the lamps; the standby follows":                              {Leads: true, OnLamps: true, Connected: true, Follows: true},
		"this computer, the leader, is on the lamps; the standby is not connected":                     {Leads: true, OnLamps: true},
		"this computer, the standby, is on the lamps; the leader is connected and does not follow yet": {OnLamps: true, Connected: true},
		"the leader is on the lamps; this computer follows, 2 ms behind":                               {Connected: true, Follows: true, Behind: 2 * clock.Millisecond},
		"the standby is on the lamps; this computer is connected and does not follow yet":              {Leads: true, Connected: true},
		"this computer, the standby, is not on the lamps, and the leader is not connected":             {},
	} {
		assert.Equal(t, want, s.String())
	}
}
