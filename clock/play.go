package clock

// prepareStart starts to play from pos: at the next tick if a clock ticks, else now.
//
// MIDI 1.0, System Real Time: "Start ... the receiver begins at the first Timing
// Clock after it". The tick after Start is the position itself, so waiting for it puts
// the downbeat where the sender has it.
func (t *Transport) prepareStart(at Time) {
	t.playing, t.early, t.jump = false, false, false
	t.startPending, t.startAskedAt = true, at
	if t.located {
		t.next = t.pos
	}
	if t.expectsTick(at) {
		return
	}
	// A sender that begins to tick only now is at this position at its first tick.
	// If that tick comes soon, the position waits until the sender has caught up.
	t.begin(at)
	t.early = t.lead == LeadAuto
}

// expectsTick tells whether a Start should wait for a tick, because one is expected.
func (t *Transport) expectsTick(at Time) bool {
	switch t.lead {
	case LeadMIDI:
		return true
	case LeadAuto:
		return t.ticked && at-t.lock.last <= recently
	}
	return false
}

// begin plays from pos, starting at at, at the present tempo.
func (t *Transport) begin(at Time) {
	t.startPending, t.playing = false, true
	t.glide.jump(at, float64(t.pos), rateOf(t.tempo))
	t.rebase()
}

// overdue tells whether a Start, a Continue or a Locate has waited startWait for a tick
// that did not come. The sender then sends no ticks, and the position counts from its
// message. At shows this Config.Ahead later than at.
func (t *Transport) overdue(at Time) bool {
	return (t.startPending || t.jump) && at-t.startAskedAt >= startWait
}

// stop stops at once and keeps the position.
func (t *Transport) stop(at Time) {
	t.startPending, t.early = false, false
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
		// The sender counts ticks: its next tick is one after its last.
		t.next = Beat(t.base) + Beat(t.lock.n+1)*Tick
	}
}

// locate sets the song position. By MIDI 1.0 it is sent while stopped; some senders
// send it while they play, and mean the position of the next tick.
func (t *Transport) locate(at Time, b Beat) {
	switch {
	case t.early:
		t.jumps++
		t.pos, t.next, t.located = b, b, true
		t.begin(at)
	case t.playing:
		t.next, t.startAskedAt, t.jump = b, at, true
		if t.source != MIDI || !t.ticking(at) {
			t.beginWithoutTick(at)
		}
	default:
		t.jumps++
		t.pos, t.next, t.located = b, b, true
	}
}

// beginWithoutTick carries out the Start, Continue or Locate that waited for a tick, without one.
func (t *Transport) beginWithoutTick(at Time) {
	if t.jump {
		t.jump = false
		t.jumps++
		t.pos = t.next
	}
	t.begin(at)
}
