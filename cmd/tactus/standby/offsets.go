package standby

import "tactus/clock"

// offsets compares this computer's clock with the other's, by questions and answers.
// An answer was given somewhere between question and answer; so the one with the
// shortest way there and back is off by half of that way at most. Old ones are
// forgotten, as clocks drift.
type offsets struct {
	samples [16]offset // some seconds
	n       int        // of all that came
}

type offset struct {
	shift clock.Time // to add to this clock's time
	way   clock.Time // there and back
}

// add adds an answer that gave the other side's time at.
func (o *offsets) add(asked, answered, at clock.Time) {
	way := answered - asked
	if way < 0 {
		return
	}
	o.samples[o.n%len(o.samples)] = offset{at - asked - way/2, way}
	o.n++
}

// best returns what to add to this clock's time to get the other's.
func (o *offsets) best() clock.Time { return o.shortest().shift }

// slack returns by how much best may be off.
func (o *offsets) slack() clock.Time { return o.shortest().way / 2 }

func (o *offsets) shortest() (best offset) {
	for i := range min(o.n, len(o.samples)) {
		if s := o.samples[i]; i == 0 || s.way < best.way {
			best = s
		}
	}
	return best
}

func (o *offsets) clear() { o.n = 0 }
