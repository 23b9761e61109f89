package senders

import (
	"fmt"
	"sync/atomic"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/artnet"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
	"tactus/shows"
)

// Standing is how a run stands beside another that sends the same universes. Any
// goroutine may set it; the outputs follow with their next frame.
type Standing struct{ packed atomic.Int64 }

// Place is what a Standing holds.
type Place struct {
	Raised  int8 // by how much the sACN priority is above the show's; below: negative
	OnLamps bool // this run's light counts: Art-Net is sent, and sACN's sync packets
}

// NewStanding returns a Standing with a place.
func NewStanding(p Place) *Standing {
	s := &Standing{}
	s.Set(p)
	return s
}

// Set changes the place.
func (s *Standing) Set(p Place) {
	v := int64(p.Raised) << 1
	if p.OnLamps {
		v |= 1
	}
	s.packed.Store(v)
}

// Place returns the place.
func (s *Standing) Place() Place {
	v := s.packed.Load()
	return Place{Raised: int8(v >> 1), OnLamps: v&1 != 0}
}

// sender is everything that the loop and Set use of an sACN or Art-Net sender.
type sender interface {
	engine.Output
	engine.Spreader
	LinkFault() *udp.LinkError
}

// placed is a sender that follows a Standing. It has no other effect on a frame.
type placed struct {
	sender
	standing *Standing
	now      Place
	begun    bool
	apply    func(Place)
}

// Send implements [engine.Output].
func (o *placed) Send(now clock.Time, u []dmx.Universe, due []bool) error {
	if p := o.standing.Place(); p != o.now || !o.begun {
		o.now, o.begun = p, true
		o.apply(p)
	}
	return o.sender.Send(now, u, due)
}

// placeSACN has a sender follow s; a nil Standing changes nothing.
func placeSACN(s *Standing, o *sacn.Sender) sender {
	if s == nil {
		return o
	}
	return &placed{sender: o, standing: s, apply: func(p Place) { o.SetPriority(int(p.Raised), p.OnLamps) }}
}

func placeArtNet(s *Standing, o *artnet.Sender) sender {
	if s == nil {
		return o
	}
	return &placed{sender: o, standing: s, apply: func(p Place) { o.SetSilent(!p.OnLamps) }}
}

// PriorityNotes says which universes have no room for a standby one step below the
// show's priority or one above it, a line each.
func PriorityNotes(o *shows.Outputs) (list []string) {
	for _, u := range o.Universes {
		switch {
		case u.Protocol != shows.SACN:
		case u.Priority == 0:
			list = append(list, fmt.Sprintf("universe %q has priority 0, the lowest: a standby cannot be below it and sends it only while it is on the lamps; give it 1 to %d in rig.yaml", u.Name, sacn.MaxPriority-1))
		case u.Priority == sacn.MaxPriority:
			list = append(list, fmt.Sprintf("universe %q has priority %d, the highest: a standby cannot be above it, so receivers change over only after 2.5 s; give it 1 to %d in rig.yaml", u.Name, sacn.MaxPriority, sacn.MaxPriority-1))
		}
	}
	return list
}
