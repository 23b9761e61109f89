package sacn

import "tactus/clock"

// pace limits the packets of one universe to a rate. The credit grows by rate
// packets each second, and a packet costs one. With 44 frames a second, a rate of 40
// sends in ten frames of eleven.
type pace struct {
	rate    int64      // packets a second
	credit  clock.Time // nanoseconds times rate; a packet costs one Second
	last    clock.Time // time of the latest call
	started bool
}

// slack is how early a packet may be sent, so that a frame after a late one still
// sends its packet. The standard's shortest packet takes 22,676 µs (E1.11), so a
// receiver must accept 44 packets in 997.75 ms. The credit keeps the mean rate.
const slack = 2250 * clock.Microsecond

// packetDue adds the time since the last call and reports whether a packet is due.
func (p *pace) packetDue(now clock.Time) bool {
	if !p.started {
		p.started, p.credit, p.last = true, clock.Second, now
		return true
	}
	if now > p.last {
		span := min(now-p.last, 2*clock.Second)
		// Allow at most one packet beyond the one that is due: packets missed in a
		// stall are not sent later.
		p.credit = min(p.credit+span*clock.Time(p.rate), 2*clock.Second)
		p.last = now
	}
	return p.credit >= clock.Second-slack*clock.Time(p.rate)
}

// countPacket subtracts a packet from the credit. The credit has a lower limit, minus
// slack, so that an early keep-alive hardly delays later packets.
func (p *pace) countPacket() {
	p.credit = max(p.credit-clock.Second, -slack*clock.Time(p.rate))
}
