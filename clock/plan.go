package clock

// plan is the score's tempo, and its next one from a song position on.
type plan struct {
	tempo Tempo // 0: nothing is planned
	at    Beat
	next  Tempo // 0: no change to come
}

// planTrust is the largest difference between a MIDI clock's tempo and the planned tempo,
// as a part of it, at which a planned change is shown before ticks confirm it.
const planTrust = 0.01

// bend returns the change of tempo planned within the tick that ends at a song position:
// the ratio of the new period to the old one, and the share of the tick, 0..1, that still
// has the old one. sure tells whether the clock has followed the score so far (period is
// its present period, ns). ok is false if no change is planned within the tick.
func (p *plan) bend(from Beat, period float64) (ratio, share float64, sure, ok bool) {
	if p.tempo == 0 || p.next == 0 || p.at <= from-Tick || p.at > from {
		return 0, 0, false, false
	}
	off := periodOf(p.tempo)/period - 1
	return float64(p.tempo) / float64(p.next), float64(p.at-(from-Tick)) / float64(Tick), max(off, -off) < planTrust, true
}
