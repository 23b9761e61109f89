package clock

// tick processes a MIDI tick: the lock fits its line, and the position starts, jumps or
// is steered towards that line.
func (t *Transport) tick(at Time) {
	if t.lead == LeadTap || t.lead == LeadInternal {
		return
	}
	l := &t.lock
	fresh := t.source != MIDI || !t.ticking(at)
	starts := t.startPending || t.early && at-t.startAskedAt < startWait
	if fresh && t.source == MIDI && !starts && t.continuesCount(at) {
		// After a stall, or when a cable is plugged in again, the ticks continue
		// the same line; the lock finds out how many are missing.
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
	t.expectPlannedChange()
	l.tick(at)
	t.tempo = l.line.tempo()
	rate := l.line.rate(at + t.ahead)
	t.early = false
	switch {
	case starts && t.startPending:
		t.countLastTickAs(t.next)
		from := t.target(at)
		if !t.located {
			from = max(from, float64(t.pos))
		}
		t.startPending, t.playing = false, true
		t.glide.jump(at, max(from, float64(t.next)), rate)
		if behind := t.target(at); behind < from {
			t.glide.steer(at, behind, rate)
		}
	case starts:
		t.countLastTickAs(t.next)
		start := at + t.ahead
		t.glide.wait(start, t.target(start), rate)
	case t.jump:
		t.jump = false
		t.jumps++
		t.countLastTickAs(t.next)
		t.glide.jump(at, max(t.target(at), float64(t.next)), rate)
	default:
		if fresh {
			t.rebase()
		}
		start := at + t.ahead
		t.glide.steer(start, t.target(start), rate)
	}
}

// continuesCount tells whether ticks after a silence continue the count from before it: while
// playing, or if the silence was shorter than recently, and only if the line is known
// well enough. While playing, a line known less well is continued too unless the port was
// lost: ticks are delayed more often than they are lost.
func (t *Transport) continuesCount(at Time) bool {
	if !t.playing && at-t.lock.last >= recently {
		return false
	}
	return t.lock.lineKnown() || t.playing && !t.lost && t.lock.count >= fewTicks
}

// expectPlannedChange tells the lock if the score plans a change of tempo before the next tick.
func (t *Transport) expectPlannedChange() {
	l := &t.lock
	if !t.playing || l.count == 0 {
		return
	}
	now := Beat(roundToInt(t.base)) + Beat(l.n+1)*Tick
	if ratio, share, sure, ok := t.plan.bend(now, l.line.period); ok {
		l.expectChange(ratio, share, sure)
	}
}

// target returns the pulse at a moment by the lock's line, in Beats.
func (t *Transport) target(at Time) float64 { return t.base + t.lock.line.beats(at) }

// countLastTickAs sets the beat of the last tick to b. Doubts about the count of the ticks before
// it end with that.
func (t *Transport) countLastTickAs(b Beat) {
	t.base = float64(b - Beat(t.lock.n)*Tick)
	t.lock.settleCount()
}

// rebase sets the beat of the last tick to the whole tick nearest to the present pulse:
// a clock that returns continues from the present position of the music.
func (t *Transport) rebase() {
	now := Beat(roundToInt(t.glide.at(t.lock.last)))
	t.countLastTickAs(now.RoundTo(Tick))
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
	case t.playing || t.startPending || t.lost:
		return Holdover
	}
	return Free
}

// tap processes a tap: from the third on, taps set the tempo and the beat.
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
		t.glide.ease(start, to, rateOf(t.tempo)) // a small error of the hand is corrected gently
		return
	}
	t.glide.steer(start, to, rateOf(t.tempo))
}

// scaleTempo changes the tempo from the next beat on, so that beats stay on beats. It does
// nothing while a MIDI clock leads, or if the tempo is outside MinTempo..MaxTempo.
func (t *Transport) scaleTempo(at Time, tempo Tempo) {
	if t.source == MIDI || tempo < MinTempo || tempo > MaxTempo {
		return
	}
	if t.source == Internal {
		t.internal = tempo
	}
	t.tempo = tempo
	t.taps.n = 0 // taps at the new rate begin a new series
	start := at + t.ahead
	now := Beat(roundToInt(t.glide.at(start)))
	t.glide.turn(start, float64(now.FloorTo(Quarter)+Quarter), rateOf(tempo))
}

// follow makes source the leading one, at a tempo; the pulse continues from its present
// value.
func (t *Transport) follow(at Time, source Source, tempo Tempo) {
	t.source, t.tempo = source, tempo
	start := at + t.ahead
	t.glide.steer(start, t.glide.at(start), rateOf(tempo))
}
