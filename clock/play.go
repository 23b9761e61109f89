package clock

// arm starts from pos: at the next tick if a clock ticks, else now.
//
// MIDI 1.0, System Real Time: "Start ... the receiver begins at the first Timing
// Clock after it"; the tick is the position, so waiting for it puts the downbeat
// where the master has it.
func (t *Transport) arm(at Time) {
	t.playing, t.early, t.jump = false, false, false
	t.armed, t.armedAt = true, at
	if t.located {
		t.next = t.pos
	}
	if t.waits(at) {
		return
	}
	// A master that begins to tick only now is at the same place a moment
	// later: what has been played by then is waited for.
	t.begin(at)
	t.early = t.lead == LeadAuto
}

// waits tells whether a tick is to be expected.
func (t *Transport) waits(at Time) bool {
	switch t.lead {
	case LeadMIDI:
		return true
	case LeadAuto:
		return t.ticked && at-t.lock.last <= recently
	}
	return false
}

// begin plays from pos at a moment, at the present tempo.
func (t *Transport) begin(at Time) {
	t.armed, t.playing = false, true
	t.glide.jump(at, float64(t.pos), rateOf(t.tempo))
	t.rebase()
}

// overdue tells whether the tick that a Start, a Continue or a Locate waits for
// has not come in time. A master that sends no ticks then counts from its own
// message. Readers who look ahead see it in time, others by so much later; a
// tick that comes in between finds it begun.
func (t *Transport) overdue(at Time) bool {
	return (t.armed || t.jump) && at-t.armedAt >= startWait
}

// stop stops at once and keeps the position.
func (t *Transport) stop(at Time) {
	t.armed, t.early = false, false
	if !t.playing {
		return
	}
	t.playing = false
	if t.jump {
		t.jump = false
		t.pos, t.located = t.next, true
		t.jumps++
		return
	}
	t.pos, t.located = Beat(roundToInt(t.glide.at(at))), false
	t.next = t.pos.CeilTo(Tick)
	if t.source == MIDI && t.ticking(at) {
		// The master counts ticks: its next is the one after the last.
		t.next = Beat(t.base) + Beat(t.lock.n+1)*Tick
	}
}

// locate sets the song position. MIDI 1.0 has masters send it while stopped;
// some send it while they play, and mean the next tick.
func (t *Transport) locate(at Time, b Beat) {
	switch {
	case t.early:
		t.jumps++
		t.pos, t.next, t.located = b, b, true
		t.begin(at)
	case t.playing:
		t.next, t.armedAt, t.jump = b, at, true
		if t.source != MIDI || !t.ticking(at) {
			t.land(at)
		}
	default:
		t.jumps++
		t.pos, t.next, t.located = b, b, true
	}
}

// land begins, without a tick, what a tick was awaited for.
func (t *Transport) land(at Time) {
	if t.jump {
		t.jump = false
		t.jumps++
		t.pos = t.next
	}
	t.begin(at)
}
