package clock

// plan is the score's tempo, and its next one from a song position on.
type plan struct {
	tempo Tempo // 0: nothing is planned
	at    Beat
	next  Tempo // 0: no change to come
}

// planTrust is how far a MIDI clock's tempo may be off the planned one, as a part
// of it, for a planned change to be taken at its word.
const planTrust = 0.01

// bend returns the ratio of the planned period to the one before, for the tick that
// ends at a song position, and for what share of it the old tempo still holds. sure
// tells whether the clock follows the score up to here. ok is false where no change
// falls within the tick.
func (p *plan) bend(from Beat, period float64) (ratio, share float64, sure, ok bool) {
	if p.tempo == 0 || p.next == 0 || p.at <= from-Tick || p.at > from {
		return 0, 0, false, false
	}
	off := periodOf(p.tempo)/period - 1
	return float64(p.tempo) / float64(p.next), float64(p.at-(from-Tick)) / float64(Tick), max(off, -off) < planTrust, true
}
