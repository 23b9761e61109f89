package clock

// plan is what the score says of the tempo: what it is, and what it will be from
// a song position on.
type plan struct {
	tempo Tempo // 0: nothing is planned
	at    Beat
	next  Tempo // 0: no change to come
}

// planTrust is how far a MIDI clock's tempo may be off the planned one, as a part
// of it, for a planned change to be taken at its word.
const planTrust = 0.01

// bend returns by what a tick that begins at a song position is shorter or longer
// than the one before, as the score has it, and for how much of it the old tempo
// still stands. It is false where no change falls within the tick.
func (p *plan) bend(from Beat, period float64) (ratio, share float64, sure, ok bool) {
	if p.tempo == 0 || p.next == 0 || p.at <= from-Tick || p.at > from {
		return 0, 0, false, false
	}
	off := periodOf(p.tempo)/period - 1
	return float64(p.tempo) / float64(p.next), float64(p.at-(from-Tick)) / float64(Tick), max(off, -off) < planTrust, true
}
