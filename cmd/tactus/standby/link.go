package standby

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/engine/stream"
)

// Bounds of a connection.
const (
	handshakeTime = 2 * clock.Second // for TLS and the greeting together
	writeTime     = 2 * clock.Second // for a write to get on its way
	maxQueued     = 1024             // messages that wait to be written: some seconds of a show
	finishTime    = 300 * time.Millisecond
)

// link is a connection to the other side, after both have proved the key.
type link struct {
	conn    net.Conn
	base    clock.Base
	queue   chan []byte
	once    sync.Once
	written chan struct{} // closed when the writer has ended
	me      uint64        // the run at the other end

	// Owned by Pair.mu:
	peer    stream.State
	quiet   int    // ticks since the last message
	wants   bool   // it waits for a checkpoint
	streams bool   // it gets records
	has     string // checksum of the show that it has
	ended   bool

	// Owned by the reader:
	head    *journal.Header
	archive []byte
	bye     stream.Bye
}

func newLink(conn net.Conn, base clock.Base) *link {
	l := &link{conn: conn, base: base, queue: make(chan []byte, maxQueued), written: make(chan struct{})}
	go l.write()
	return l
}

// send queues a message. A side that does not keep up is cut off: nobody waits for it.
// The caller holds Pair.mu.
func (l *link) send(b []byte) {
	if l.ended {
		return
	}
	select {
	case l.queue <- b:
	default:
		l.close()
	}
}

// finish ends the connection once all that is queued has been written, or after a short
// time. It does not wait. The caller holds Pair.mu.
func (l *link) finish() {
	if l.ended {
		return
	}
	l.ended = true
	close(l.queue)
	_ = l.conn.SetDeadline(l.base.Wall(l.base.Now().Add(finishTime)))
	go func() {
		<-l.written
		l.close()
	}()
}

// close ends the connection at once.
func (l *link) close() { l.once.Do(func() { closeNow(l.conn) }) }

// closeNow closes what is below TLS, whose own goodbye could wait for the other side.
func closeNow(conn net.Conn) {
	if secure, ok := conn.(*tls.Conn); ok {
		conn = secure.NetConn()
	}
	_ = conn.Close()
}

// write writes what is queued, several messages at once where several wait.
func (l *link) write() {
	defer close(l.written)
	var batch []byte
	for b := range l.queue {
		_ = l.conn.SetWriteDeadline(l.base.Wall(l.base.Now() + writeTime))
		batch = append(batch[:0], b...)
		for n := len(l.queue); n > 0 && len(batch) < 64<<10; n-- {
			more, ok := <-l.queue
			if !ok {
				break
			}
			batch = append(batch, more...)
		}
		if _, err := l.conn.Write(batch); err != nil {
			l.close() // the reader tells
			for range l.queue {
			}
			return
		}
	}
}

// errOther ends a connection on which something came that cannot be.
var errOther = errors.New("the other computer sends what cannot be right")

// serve greets the other side and reads its messages until the connection ends.
func (p *Pair) serve(conn net.Conn) error {
	_ = conn.SetDeadline(p.c.Base.Wall(p.c.Base.Now() + handshakeTime))
	read := stream.NewReader(conn)
	hello, err := p.greet(conn, read)
	if err != nil {
		closeNow(conn)
		return err
	}
	_ = conn.SetDeadline(time.Time{})
	l := newLink(conn, p.c.Base)
	if err := p.join(l, hello); err != nil {
		return err
	}
	for {
		k, payload, err := read.Next()
		if err == nil {
			err = p.take(l, k, payload)
		}
		if err != nil {
			l.close()
			p.part(l, err)
			return err
		}
	}
}

// greet exchanges the first messages.
func (p *Pair) greet(conn net.Conn, read *stream.Reader) (h stream.Hello, err error) {
	p.mu.Lock()
	own := stream.Hello{Version: stream.Version, Program: p.c.Program, Run: p.me, State: p.state}
	p.mu.Unlock()
	if _, err := conn.Write(stream.AppendJSON(nil, stream.KindHello, own)); err != nil {
		return h, err
	}
	k, payload, err := read.Next()
	if err != nil {
		return h, err
	}
	if k != stream.KindHello {
		return h, fmt.Errorf("%w: message %d before its greeting", errOther, k)
	}
	if err := stream.ParseJSON(payload, &h); err != nil {
		return h, err
	}
	if h.Version != stream.Version {
		return h, fmt.Errorf("the other computer's program is %q and speaks version %d; this one speaks version %d: use the same program on both", h.Program, h.Version, stream.Version)
	}
	return h, nil
}

// errTaken refuses a second standby.
var errTaken = errors.New("another standby is connected already; a leader has one")

// join makes l the connection to the other side. A newer connection of the same run
// replaces the older one; another run waits until that is dead.
func (p *Pair) join(l *link, h stream.Hello) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	l.me = h.Run
	if old := p.link; old != nil && !old.ended {
		if old.me != l.me && old.quiet < quietAfter {
			l.send(stream.AppendJSON(nil, stream.KindBye, stream.Bye{Reason: errTaken.Error()}))
			l.finish()
			return errTaken
		}
		old.close()
	}
	p.link = l
	p.reconnected(h)
	p.peerState(l, h.State)
	switch {
	case p.state.OnLamps && !h.State.OnLamps && !p.started:
		p.start() // nobody else is on the lamps
	case !p.state.OnLamps && h.State.OnLamps:
		p.silent = min(p.silent, p.patience-resyncGrace)
		p.state.Turn = max(p.state.Turn, h.State.Turn)
		p.askTime(l)
		p.askCheckpoint(l)
	}
	p.sendState()
	return nil
}

// part is called when a connection has ended.
func (p *Pair) part(l *link, why error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !l.ended {
		l.ended = true
		close(l.queue)
	}
	if p.link != l {
		return
	}
	p.link = nil
	p.disconnected(l, why)
}

// take takes a message.
func (p *Pair) take(l *link, k stream.Kind, payload []byte) error {
	p.mu.Lock()
	l.quiet = 0
	current := p.link == l
	p.mu.Unlock()
	if !current {
		return errTaken
	}
	switch k {
	case stream.KindState:
		var s stream.State
		if err := stream.ParseFixed(payload, &s); err != nil {
			return err
		}
		p.mu.Lock()
		defer p.mu.Unlock()
		p.peerState(l, s)
	case stream.KindHead:
		h, err := stream.ParseHead(payload)
		l.head = &h
		return err
	case stream.KindShow:
		l.archive = append([]byte{}, payload...)
	case stream.KindCheckpoint:
		return p.takeCheckpoint(l, append([]byte{}, payload...))
	case stream.KindRecord:
		return p.takeRecord(l, payload)
	case stream.KindAskTime, stream.KindTime:
		return p.takeTime(l, k, payload)
	case stream.KindBye:
		return p.takeBye(l, payload)
	default:
		return p.takeRequest(l, k, payload)
	}
	return nil
}

// takeRequest takes what the other side asks for, and the lamps.
func (p *Pair) takeRequest(l *link, k stream.Kind, payload []byte) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch k {
	case stream.KindFollow:
		l.wants, l.streams, l.has = true, false, string(payload)
		p.c.Show.RequestCheckpoint()
	case stream.KindChangeOver:
		if p.state.OnLamps {
			_ = p.giveOver() // it is asked for again if it does not happen
		}
	case stream.KindYours:
		p.given()
	default:
		return fmt.Errorf("%w: message %d in the middle", errOther, k)
	}
	return nil
}

// takeTime answers a question for the time, or compares the clocks by an answer.
func (p *Pair) takeTime(l *link, k stream.Kind, payload []byte) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if k == stream.KindAskTime {
		var asked clock.Time
		err := stream.ParseFixed(payload, &asked)
		l.send(stream.AppendFixed(nil, stream.KindTime, stream.Time{Asked: asked, At: p.c.Show.Now()}))
		return err
	}
	var t stream.Time
	err := stream.ParseFixed(payload, &t)
	if err == nil && !p.state.OnLamps {
		p.offset.add(t.Asked, p.c.Base.Now(), t.At)
	}
	return err
}

func (p *Pair) takeBye(l *link, payload []byte) error {
	if err := stream.ParseJSON(payload, &l.bye); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if l.bye.Over && !p.state.OnLamps && !p.overOnce {
		p.overOnce, p.state.Synced = true, false // nobody takes over
		close(p.over)
	}
	return errBye
}

// errBye ends a connection on purpose.
var errBye = errors.New("the other computer ended the connection")

// takeCheckpoint follows from a checkpoint on.
func (p *Pair) takeCheckpoint(l *link, checkpoint []byte) error {
	p.mu.Lock()
	if p.state.OnLamps || l.head == nil {
		p.mu.Unlock()
		return nil
	}
	p.busy = true
	shift := p.offset.best()
	p.mu.Unlock()
	err := p.c.Show.Follow(l.head, l.archive, checkpoint, shift)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.busy, p.silent, p.asked = false, 0, p.ticks
	p.synced(l, err)
	return nil
}

// takeRecord replays a record.
func (p *Pair) takeRecord(l *link, payload []byte) error {
	r, err := stream.ParseRecord(payload)
	if err != nil {
		return err
	}
	p.mu.Lock()
	shift, ours := p.offset.best(), p.state.OnLamps || !p.state.Synced
	if r.Kind == engine.RecordFrame {
		p.silent = 0
	}
	p.busy = r.Kind == engine.RecordReload
	p.mu.Unlock()
	if ours {
		return nil
	}
	complete := r.Kind != engine.RecordGap
	switch r.Kind {
	case engine.RecordReload:
		if err = p.c.Show.Reload(&r, l.archive, shift); err != nil {
			p.c.Log.Error().Err(err).Msg("standby: an edit of the show could not be taken over; the whole state is asked for")
			complete = false
		}
	default:
		complete = complete && p.c.Show.Record(&r, shift)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.busy {
		p.busy, p.silent = false, 0
	}
	if !complete && !p.state.OnLamps {
		p.askCheckpoint(l)
	}
	return nil
}
