package standby

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"encoding/binary"
	"errors"
	"net"
	"sync"
	"syscall"
	"time"

	"tactus/clock"
	"tactus/cmd/tactus/pairing"
)

const (
	dialEvery    = 100 * time.Millisecond // between two tries to connect
	dialTime     = 500 * time.Millisecond // for one try
	shortLink    = clock.Second           // a connection that ends earlier had something wrong
	maxGreetings = 4                      // connections that have not proved the key yet
)

// newRun returns a number for this run.
func newRun() uint64 {
	var b [8]byte
	_, _ = rand.Read(b[:]) // never fails (crypto/rand)
	return binary.BigEndian.Uint64(b[:])
}

// accept takes connections until ctx ends. Those that have not proved the key are few at
// a time, and are dropped when they take long.
func (p *Pair) accept(ctx context.Context) {
	secure, err := p.c.Key.TLS(pairing.Listens)
	if err != nil {
		p.c.Log.Error().Err(err).Msg("standby: no connections are taken")
		return
	}
	var group sync.WaitGroup
	defer group.Wait()
	greeting := make(chan struct{}, maxGreetings)
	for {
		raw, err := p.c.Listen.Accept()
		if ctx.Err() != nil {
			if err == nil {
				_ = raw.Close()
			}
			return
		}
		if err != nil { // such as too many open files
			wait(ctx, dialEvery)
			continue
		}
		select {
		case greeting <- struct{}{}:
		default:
			_ = raw.Close()
			continue
		}
		group.Go(func() { p.welcome(ctx, tls.Server(raw, secure), func() { <-greeting }) })
	}
}

// welcome proves the key of a connection and serves it. proved is called when the key
// is proved or refused.
func (p *Pair) welcome(ctx context.Context, conn *tls.Conn, proved func()) {
	stop := context.AfterFunc(ctx, func() { p.leaveNow(conn) })
	defer stop()
	_ = conn.SetDeadline(p.c.Base.Wall(p.c.Base.Now() + handshakeTime))
	err := conn.HandshakeContext(ctx)
	proved()
	if err != nil {
		closeNow(conn)
		p.refused(conn.RemoteAddr(), err)
		return
	}
	_ = p.serve(conn) // part has told
}

// leaveNow closes a connection that is not the pair's, whose end leave sees to.
func (p *Pair) leaveNow(conn net.Conn) {
	p.mu.Lock()
	ours := p.link != nil && p.link.conn == conn
	p.mu.Unlock()
	if !ours {
		closeNow(conn)
	}
}

// dial keeps a connection to the leader until ctx ends.
func (p *Pair) dial(ctx context.Context) {
	secure, err := p.c.Key.TLS(pairing.Dials)
	if err != nil {
		p.c.Log.Error().Err(err).Msg("standby: no connection can be made")
		return
	}
	for ctx.Err() == nil && !p.hasLeft() {
		err := p.dialOnce(ctx, secure)
		if ctx.Err() != nil {
			return
		}
		p.notConnected(err)
		if !errors.Is(err, errLinkEnded) { // after a connection, at once
			wait(ctx, dialEvery)
		}
	}
}

// hasLeft reports whether this side has said goodbye.
func (p *Pair) hasLeft() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.left
}

// errLinkEnded ends dialOnce after a connection that had worked.
var errLinkEnded = errors.New("the connection has ended")

func (p *Pair) dialOnce(ctx context.Context, secure *tls.Config) error {
	try, cancel := context.WithTimeout(ctx, dialTime)
	defer cancel()
	connect := p.c.connect
	if connect == nil {
		connect = func(ctx context.Context) (net.Conn, error) {
			return (&net.Dialer{}).DialContext(ctx, "tcp", p.c.Dial)
		}
	}
	raw, err := connect(try)
	if err != nil {
		return err
	}
	conn := tls.Client(raw, secure)
	if err := conn.HandshakeContext(try); err != nil {
		_ = raw.Close()
		return err
	}
	stop := context.AfterFunc(ctx, func() { p.leaveNow(conn) })
	defer stop()
	began := p.c.Base.Now()
	if err := p.serve(conn); errors.Is(err, errTaken) || p.c.Base.Now()-began < shortLink {
		return err // it is tried again after a while, not at once
	}
	return errLinkEnded
}

// notConnected is called after each try to connect that failed. Where the leader's
// computer says that nobody listens any more, the leader is lost at once.
func (p *Pair) notConnected(err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if errors.Is(err, errLinkEnded) {
		return
	}
	if errors.Is(err, syscall.ECONNREFUSED) && p.state.Synced && !p.state.OnLamps && !p.busy {
		p.takeOver("its program has ended")
	}
	p.cannotConnect(err)
}

// wait waits for a time or until ctx ends.
func wait(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case <-t.C:
	}
}

// handshakeFault says what a failed handshake means for people.
func handshakeFault(err error) error {
	var alert tls.AlertError
	if errors.Is(err, pairing.ErrStranger) || errors.As(err, &alert) {
		return errKeys
	}
	return err
}

var errKeys = errors.New("the two computers have different pairing keys: compare the check marks that \"tactus pair\" prints")
