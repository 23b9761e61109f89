package clock

// tick takes one MIDI tick.
func (t *Transport) tick(at Time) {
	if t.lead == LeadTap || t.lead == LeadInternal {
		return
	}
	l := &t.lock
	fresh := t.source != MIDI || !t.ticking(at)
	starts := t.armed || t.early && at-t.armedAt < startWait
	if fresh && t.source == MIDI && !starts && t.goesOn(at) {
		// After a stall, or with a cable put back, ticks go on where the line
		// was going; the lock finds out which of them are missing.
		fresh, l.afterSilence = false, true
	}
	if fresh || starts && !l.fits(at) {
		period := periodOf(t.tempo)
		if fresh && t.plan.tempo != 0 {
			period = periodOf(t.plan.tempo)
		}
		l.restart(l.n+1, period)
	}
	t.ticked, t.lost, t.source = true, false, MIDI
	t.expect()
	l.tick(at)
	t.tempo = l.line.tempo()
	rate := l.line.rate(at + t.ahead)
	t.early = false
	switch {
	case starts && t.armed:
		t.count(t.next)
		from := t.target(at)
		if !t.located {
			from = max(from, float64(t.pos))
		}
		t.armed, t.playing = false, true
		t.glide.jump(at, max(from, float64(t.next)), rate)
		if behind := t.target(at); behind < from {
			t.glide.steer(at, behind, rate)
		}
	case starts:
		t.count(t.next)
		start := at + t.ahead
		t.glide.wait(start, t.target(start), rate)
	case t.jump:
		t.jump = false
		t.jumps++
		t.count(t.next)
		t.glide.jump(at, max(t.target(at), float64(t.next)), rate)
	default:
		if fresh {
			t.rebase()
		}
		start := at + t.ahead
		t.glide.steer(start, t.target(start), rate)
	}
}

// goesOn tells whether a clock that was silent is the one from before: while it
// plays, or after a short silence. Without a line to judge by ticks are counted, for
// they are held up more often than lost, but not across a port that was lost.
func (t *Transport) goesOn(at Time) bool {
	if !t.playing && at-t.lock.last >= recently {
		return false
	}
	return t.lock.sure() || t.playing && !t.lost && t.lock.count >= fewTicks
}

// expect tells the lock of a change of tempo that the score has fall in the tick to
// come.
func (t *Transport) expect() {
	l := &t.lock
	if !t.playing || l.count == 0 {
		return
	}
	now := Beat(roundToInt(t.base)) + Beat(l.n+1)*Tick
	if ratio, share, sure, ok := t.plan.bend(now, l.line.period); ok {
		l.expect(ratio, share, sure)
	}
}

// target returns where the lock's line has the pulse at at.
func (t *Transport) target(at Time) float64 { return t.base + t.lock.line.beats(at) }

// count makes the last tick count as beat b. That settles what the lock could not tell
// of the ticks before.
func (t *Transport) count(b Beat) {
	t.base = float64(b - Beat(t.lock.n)*Tick)
	t.lock.settleCount()
}

// rebase makes the last tick count as the whole tick nearest to the pulse: a
// clock that comes back is taken up where the music has got to.
func (t *Transport) rebase() {
	now := Beat(roundToInt(t.glide.at(t.lock.last)))
	t.count(now.RoundTo(Tick))
}

// ticking tells whether MIDI ticks are coming in.
func (t *Transport) ticking(at Time) bool {
	period := t.lock.line.period
	if t.lock.count < fewTicks {
		period = maxPeriod // not known yet
	}
	patience := Time(holdAfter*period) + holdExtra
	return t.ticked && !t.lost && at-t.lock.last <= patience
}

// sync returns the state of the lock at at.
func (t *Transport) sync(at Time) Sync {
	switch {
	case t.source != MIDI:
		return Free
	case t.ticking(at) && t.lock.locked && !t.lock.afterSilence:
		return Locked
	case t.ticking(at):
		return Acquiring
	case t.playing || t.armed || t.lost:
		return Holdover
	}
	return Free
}

// tap takes one tap.
func (t *Transport) tap(at Time) {
	if t.lead == LeadMIDI || t.lead == LeadInternal {
		return
	}
	if !t.taps.tap(at) || t.lead == LeadAuto && t.source == MIDI && t.ticking(at) {
		return
	}
	if !t.taps.ready() {
		return
	}
	led := t.source == Tapped
	t.follow(at, Tapped, t.taps.tempo())
	// The tap lies on the nearest beat.
	_, beatAt := t.taps.line()
	start := at + t.ahead
	here := Beat(roundToInt(t.glide.at(beatAt)))
	to := float64(here.RoundTo(Quarter)) + float64(float64(start-beatAt)*rateOf(t.tempo))
	if off := here - here.RoundTo(Quarter); led && max(off, -off) <= handSteady {
		t.glide.ease(start, to, rateOf(t.tempo)) // a hand's jitter: no jerk
		return
	}
	t.glide.steer(start, to, rateOf(t.tempo))
}

// scale changes a tempo that a person or the internal clock gave, from the next
// beat on, so that beats stay on beats. A MIDI clock's tempo is its master's.
func (t *Transport) scale(at Time, tempo Tempo) {
	if t.source == MIDI || tempo < MinTempo || tempo > MaxTempo {
		return
	}
	if t.source == Internal {
		t.internal = tempo
	}
	t.tempo = tempo
	t.taps.n = 0 // taps at the old rate are another series
	start := at + t.ahead
	now := Beat(roundToInt(t.glide.at(start)))
	t.glide.turn(start, float64(now.FloorTo(Quarter)+Quarter), rateOf(tempo))
}

// follow lets source lead with a tempo; the pulse goes on from where it is.
func (t *Transport) follow(at Time, source Source, tempo Tempo) {
	t.source, t.tempo = source, tempo
	start := at + t.ahead
	t.glide.steer(start, t.glide.at(start), rateOf(tempo))
}
