package standby

import (
	"tactus/engine/stream"
)

// baseRaised is by how many steps this side's priority is above the show's while it is
// on the lamps.
func (p *Pair) baseRaised() int8 {
	if p.c.Leads {
		return 0
	}
	return 1
}

// followRaised is the same while it follows.
func (p *Pair) followRaised() int8 {
	if p.c.Leads {
		return 0
	}
	return -1
}

func (p *Pair) raise(to int8, onLamps bool) {
	p.state.Raised = to
	p.c.Show.SetPlace(to, onLamps)
}

// start ends a leader's wait for a standby that may be on the lamps.
func (p *Pair) start() {
	p.started = true
	if p.state.OnLamps {
		p.raise(p.state.Raised, true)
	}
}

// peerState takes what the other side says of itself.
func (p *Pair) peerState(l *link, s stream.State) {
	before := l.peer
	l.peer, p.last = s, s
	switch {
	case p.state.OnLamps && s.OnLamps:
		if s.Turn > p.state.Turn || s.Turn == p.state.Turn && !p.c.Leads {
			p.stepDown(l)
		}
	case !p.state.OnLamps && s.OnLamps && p.ticks-p.asked >= retryFollow && !p.state.Synced:
		p.askCheckpoint(l)
	}
	if p.state.OnLamps {
		p.followed = p.followed || s.Synced
		if s.Synced && !before.Synced {
			p.c.Log.Info().Msg("standby: the other computer follows")
		}
		if s.Differing > before.Differing && before.Synced {
			p.c.Log.Warn().Uint64("frames", s.Differing-before.Differing).Msg("standby: the other computer's frames differ")
		}
	}
}

// stepDown follows the other side, which is on the lamps. If that one followed and was not
// given the lamps, it took this one for lost though it is well: the network between the two
// is bad, and without more patience the lamps would change hands again and again. A leader
// that was started again has not been followed yet.
func (p *Pair) stepDown(l *link) {
	p.c.Log.Warn().Uint64("turn", l.peer.Turn).Msg("standby: the other computer is on the lamps; this one follows until it is told")
	p.state.OnLamps, p.state.Synced, p.started = false, false, true
	p.state.Turn = l.peer.Turn
	if p.followed && !p.gave {
		p.patience = min(2*p.patience, lostAtMost)
	}
	p.followed, p.gave = false, false
	p.changed, p.raiseAt, p.settled = p.ticks, 0, 0
	p.raise(p.followRaised(), false)
	l.streams, l.wants = false, false
	p.offset.clear()
	p.askTime(l)
	p.askCheckpoint(l)
	p.sendState()
}

// takeOver goes on the lamps because the other side is lost.
func (p *Pair) takeOver(why string) {
	p.c.Log.Error().Str("why", why).Msg("standby: the other computer is lost; this one is on the lamps")
	to := max(p.baseRaised(), p.last.Raised+1)
	if wait := int(p.c.RaiseAfter / tickEvery); wait > 0 {
		p.raiseAt, to = p.ticks+wait, p.state.Raised
	}
	p.goLive(to)
}

// goLive goes on the lamps.
func (p *Pair) goLive(raised int8) {
	p.state.Turn = max(p.state.Turn, p.last.Turn) + 1
	p.state.OnLamps, p.state.Synced, p.started = true, false, true
	p.changed, p.followed, p.gave, p.settled = p.ticks, false, false, 0
	p.raise(raised, true)
	p.c.Show.TakeOver(p.offset.best())
	p.sendState()
}

// settle lowers a priority that was raised above a lost side's, once that side follows
// and receivers have forgotten its old one.
func (p *Pair) settle() {
	base := p.baseRaised()
	l := p.link
	if !p.state.OnLamps || p.state.Raised <= base || l == nil || !l.peer.Synced || l.peer.Raised >= base {
		p.settled = 0
		return
	}
	if p.settled++; p.settled >= settleAfter {
		p.raise(base, true)
	}
}

// ChangeOver has the other side go on the lamps, if this one is, or the reverse. Errors:
// ErrAlone, ErrSoon.
func (p *Pair) ChangeOver() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.link
	switch {
	case p.ticks-p.changed < changeEvery:
		return ErrSoon
	case p.state.OnLamps:
		return p.giveOver()
	case l == nil || !p.state.Synced || !l.peer.OnLamps:
		return ErrAlone
	}
	l.send(stream.Append(nil, stream.KindChangeOver, nil))
	return nil
}

// giveOver gives the lamps to the other side, with the state after the last record.
func (p *Pair) giveOver() error {
	l := p.link
	if l == nil || !l.peer.Synced || !l.streams {
		return ErrAlone
	}
	if p.ticks-p.changed < changeEvery {
		return ErrSoon
	}
	p.changed, p.gave = p.ticks, true
	p.c.Log.Info().Msg("standby: the lamps are given to the other computer")
	l.send(stream.Append(nil, stream.KindYours, nil))
	return nil
}

// given goes on the lamps, because the other side gave them.
func (p *Pair) given() {
	if p.state.OnLamps || !p.state.Synced {
		return
	}
	p.c.Log.Info().Msg("standby: this computer was told to go on the lamps")
	p.goLive(p.baseRaised())
}
