package standby

import (
	"errors"
	"fmt"
	"net"

	"tactus/clock"
	"tactus/engine/stream"
)

// told is what the log has been told, so that each change is told once.
type told struct {
	connected bool
	fault     string
	strangers map[string]bool
}

// maxStrangers is how many addresses of strangers are told.
const maxStrangers = 16

func (p *Pair) reconnected(h stream.Hello) {
	p.told.connected, p.told.fault = true, ""
	e := p.c.Log.Info().Str("program", h.Program)
	if h.Program != p.c.Program {
		e = p.c.Log.Warn().Str("program", h.Program).Str("ours", p.c.Program)
	}
	e.Msg("standby: connected with the other computer")
}

func (p *Pair) disconnected(l *link, why error) {
	p.told.connected = false
	switch {
	case errors.Is(why, errBye):
		p.c.Log.Warn().Str("reason", l.bye.Reason).Msg("standby: the other computer has left")
		if !l.bye.Over && !p.state.OnLamps && p.state.Synced && l.peer.OnLamps {
			p.given() // it steps down itself
		}
	case p.state.OnLamps:
		p.c.Log.Warn().Err(why).Msg("standby: the connection to the other computer is cut; this one stays on the lamps. If the other still runs, it takes over: sACN receivers follow one of the two, Art-Net nodes may mix both")
	default:
		p.c.Log.Warn().Err(why).Msg("standby: the connection to the other computer is cut")
	}
}

func (p *Pair) cannotConnect(err error) {
	text := handshakeFault(err).Error()
	if p.told.fault == text {
		return
	}
	p.told.fault = text
	p.c.Log.Warn().Str("leader", p.c.Dial).Str("error", text).Msg("standby: the leader is not reached; it is tried again and again")
}

// refused tells of a connection without the key, once for an address.
func (p *Pair) refused(from net.Addr, err error) {
	host, _, _ := net.SplitHostPort(from.String())
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.told.strangers == nil {
		p.told.strangers = map[string]bool{}
	}
	if p.told.strangers[host] || len(p.told.strangers) >= maxStrangers {
		return
	}
	p.told.strangers[host] = true
	p.c.Log.Warn().Str("from", host).Err(handshakeFault(err)).Msg("standby: a connection was refused")
}

// synced notes that this side follows, or why it cannot.
func (p *Pair) synced(l *link, err error) {
	if err != nil {
		p.state.Synced = false
		if text := err.Error(); p.told.fault != text {
			p.told.fault = text
			p.c.Log.Error().Err(err).Msg("standby: the leader's show cannot be followed; it is tried again")
		}
		return
	}
	if p.state.OnLamps {
		return // it has taken over meanwhile
	}
	p.state.Turn = l.peer.Turn
	if !p.state.Synced {
		p.c.Log.Info().Msg("standby: this computer follows")
	}
	p.state.Synced = true
	p.sendState()
}

// Status says where a pair stands, for people.
type Status struct {
	Leads     bool
	OnLamps   bool
	Connected bool
	Follows   bool       // whoever is not on the lamps follows
	Behind    clock.Time // by how much the follower is later; only here
	Differing uint64     // frames of the follower that were not those on the lamps
	Slack     clock.Time // by how much the clocks' difference may be off; only while this side follows
	Raised    int8
}

// Status returns where the pair stands.
func (p *Pair) Status() Status {
	counts := p.c.Show.FollowCounts()
	p.mu.Lock()
	defer p.mu.Unlock()
	s := Status{Leads: p.c.Leads, OnLamps: p.state.OnLamps, Connected: p.link != nil, Raised: p.state.Raised}
	switch {
	case !p.state.OnLamps:
		s.Follows, s.Behind, s.Differing, s.Slack = p.state.Synced && p.link != nil, counts.Behind, counts.Differing, p.offset.slack()
	case p.link != nil:
		s.Follows, s.Differing = p.link.peer.Synced, p.link.peer.Differing
	}
	return s
}

// String says it in a sentence.
func (s Status) String() string {
	this, other := "standby", "leader"
	if s.Leads {
		this, other = other, this
	}
	switch {
	case s.OnLamps && !s.Connected:
		return fmt.Sprintf("this computer, the %s, is on the lamps; the %s is not connected", this, other)
	case s.OnLamps && s.Follows:
		return fmt.Sprintf("this computer, the %s, is on the lamps; the %s follows", this, other)
	case s.OnLamps:
		return fmt.Sprintf("this computer, the %s, is on the lamps; the %s is connected and does not follow yet", this, other)
	case s.Follows:
		return fmt.Sprintf("the %s is on the lamps; this computer follows, %.0f ms behind", other, float64(s.Behind)/float64(clock.Millisecond))
	case s.Connected:
		return fmt.Sprintf("the %s is on the lamps; this computer is connected and does not follow yet", other)
	}
	return fmt.Sprintf("this computer, the %s, is not on the lamps, and the %s is not connected", this, other)
}
