package sacn

import "tactus/clock"

// pace spaces the packets of one universe: credit for rate packets grows in each
// second, and a packet costs one. Frames come up to 44 a second, so a rate of 40
// sends in ten frames of eleven.
type pace struct {
	rate    int64      // packets a second
	credit  clock.Time // nanoseconds times rate; a packet costs one Second
	last    clock.Time // of the latest call
	started bool
}

// slack is how early a packet may leave: after a frame that was some microseconds
// late, the next frame must not lose its packet. The standard's shortest packet
// takes 22,676 µs (E1.11), so a receiver must stand 44 of them in 997.75 ms. The
// credit keeps the mean at the rate.
const slack = 2250 * clock.Microsecond

// ready adds the time since the last call and reports whether a packet is due.
func (p *pace) ready(now clock.Time) bool {
	if !p.started {
		p.started, p.credit, p.last = true, clock.Second, now
		return true
	}
	if now > p.last {
		span := min(now-p.last, 2*clock.Second)
		// At most one packet beyond the one that is due: time lost in a stall
		// is not made up for.
		p.credit = min(p.credit+span*clock.Time(p.rate), 2*clock.Second)
		p.last = now
	}
	return p.credit >= clock.Second-slack*clock.Time(p.rate)
}

// spend pays for a packet. A keep-alive may come before it is due; it leaves
// no debt.
func (p *pace) spend() {
	p.credit = max(p.credit-clock.Second, -slack*clock.Time(p.rate))
}
