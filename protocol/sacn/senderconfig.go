package sacn

import (
	"errors"
	"fmt"
	"net/netip"
	"slices"
	"strings"

	"github.com/google/uuid"

	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

// OnExit is how Close ends the streams.
type OnExit uint8

// The ways to end streams. Most gateways stop their output at once when a stream is
// terminated (6.2.6, 10.2.2). Fixtures may then go dark or start a program of their
// own: test it at set-up.
const (
	// Hold stops sending. Receivers notice after 2.5 s (6.7.1) and then follow their
	// own setting for data loss; many hold the last levels.
	Hold OnExit = iota
	// Fade terminates like Terminate. The caller fades the levels to zero
	// before it calls Close.
	Fade
	// Terminate sends three packets with Stream_Terminated set and the last
	// levels.
	Terminate
)

// SenderConfig configures a Sender.
type SenderConfig struct {
	CID        [16]byte // required: see LoadCID
	SourceName string   // shown by receivers; cut to 63 octets

	// Interface is the name of the network interface for multicast. It may be empty
	// when nothing is multicast, or when only one interface can multicast.
	Interface string
	TTL       int // greatest number of hops of multicast, 0 = 1: the local network

	Universes []UniverseConfig
	OnExit    OnExit

	// Sync is the synchronization address, 0 = off. Receivers hold each universe
	// until the sync packet after the last one. If the sync packets stop, receivers
	// continue without them (Force_Synchronization, 6.2.6).
	Sync uint16
	// SyncSequence is the sequence number of the first sync packet.
	SyncSequence uint8

	// Spread bounds how many packets of a frame leave at once; 0 = all: see Send.
	Spread udp.Spread

	// Open, if set, makes the connection instead of a UDP socket. It is called
	// again when the connection fails.
	Open func() (udp.Conn, error)
}

// UniverseConfig configures one universe.
type UniverseConfig struct {
	Source   int    // index into the universes given to Send
	Number   uint16 // 1..63999, each once
	Priority uint8  // 0..200; 0 is the lowest, not the default
	Rate     int    // packets a second at most, 1..44; 0 = 44
	Slots    int    // 1..512; 0 = 512
	Sequence uint8  // sequence number of the first packet

	// OnChange leaves out packets with unchanged levels, except three repeats and a
	// keep-alive (6.6.2). Otherwise the rate is constant.
	OnChange bool

	// Destinations receive unicast; port 0 means 5568. Without destinations the
	// universe is multicast to its group.
	Destinations []netip.AddrPort
	Multicast    bool // multicast even with destinations
}

// ToAddress returns a copy of c that sends everything to one address only, such as
// loopback in a test or a single gateway.
func (c SenderConfig) ToAddress(to netip.AddrPort) SenderConfig {
	c.Interface = ""
	c.Universes = slices.Clone(c.Universes)
	for i := range c.Universes {
		c.Universes[i].Destinations = []netip.AddrPort{to}
		c.Universes[i].Multicast = false
	}
	return c
}

// multicast reports whether the universe goes to its group.
func (u *UniverseConfig) multicast() bool { return u.Multicast || len(u.Destinations) == 0 }

// normalize returns a copy of c with defaults and sorted universes, and all errors
// together.
func (c SenderConfig) normalize() (SenderConfig, error) {
	var faults []error
	fault := func(format string, args ...any) { faults = append(faults, fmt.Errorf("sacn: "+format, args...)) }
	if c.CID == [16]byte{} {
		fault("the source has no CID")
	}
	if c.TTL == 0 {
		c.TTL = 1
	}
	if c.TTL < 0 || c.TTL > 255 {
		fault("TTL %d, need 1..255", c.TTL)
	}
	if c.Sync > MaxUniverse {
		fault("synchronization address %d, need 1..%d, or 0 for off", c.Sync, MaxUniverse)
	}
	if c.Spread < 0 || c.Spread > udp.MaxSpread {
		fault("spread %d, need 1..%d packets a millisecond, or 0 for off", c.Spread, udp.MaxSpread)
	}
	if c.OnExit > Terminate {
		fault("unknown OnExit %d", c.OnExit)
	}
	c.Universes = slices.Clone(c.Universes)
	slices.SortStableFunc(c.Universes, func(a, b UniverseConfig) int { return int(a.Number) - int(b.Number) })
	for i := range c.Universes {
		u := &c.Universes[i]
		if i > 0 && u.Number == c.Universes[i-1].Number {
			// One source has one sequence number per universe (6.2.5).
			fault("universe %d is listed twice", u.Number)
		}
		for _, err := range u.normalize() {
			fault("universe %d: %w", u.Number, err)
		}
	}
	return c, errors.Join(faults...)
}

func (u *UniverseConfig) normalize() (faults []error) {
	if u.Number < MinUniverse || u.Number > MaxUniverse {
		faults = append(faults, fmt.Errorf("%w, need %d..%d", ErrUniverse, MinUniverse, MaxUniverse))
	}
	if u.Source < 0 {
		faults = append(faults, fmt.Errorf("source %d is negative", u.Source))
	}
	if u.Priority > MaxPriority {
		faults = append(faults, fmt.Errorf("priority %d, need 0..%d", u.Priority, MaxPriority))
	}
	if u.Rate == 0 {
		u.Rate = dmx.MaxRate
	}
	if u.Rate < 1 || u.Rate > dmx.MaxRate {
		faults = append(faults, fmt.Errorf("rate %d Hz, need 1..%d", u.Rate, dmx.MaxRate))
	}
	if u.Slots == 0 {
		u.Slots = dmx.Slots
	}
	if u.Slots < 1 || u.Slots > dmx.Slots {
		faults = append(faults, fmt.Errorf("%d slots, need 1..%d", u.Slots, dmx.Slots))
	}
	u.Destinations = slices.Clone(u.Destinations)
	for i, d := range u.Destinations {
		if d.Port() == 0 {
			d = netip.AddrPortFrom(d.Addr(), Port)
		}
		u.Destinations[i] = netip.AddrPortFrom(d.Addr().Unmap(), d.Port())
		if !u.Destinations[i].Addr().Is4() || d.Addr().IsUnspecified() {
			faults = append(faults, fmt.Errorf("destination %s is not an IPv4 address", d))
		}
	}
	return faults
}

// destinations lists the addresses that the universe is sent to.
func (u *UniverseConfig) destinations() []netip.AddrPort {
	to := slices.Clone(u.Destinations)
	if u.multicast() {
		to = append(to, netip.AddrPortFrom(Group(u.Number), Port))
	}
	return to
}

// needsInterface reports whether anything is multicast: then the interface must be
// known, never guessed.
func (c *SenderConfig) needsInterface() bool {
	if c.Interface != "" {
		return true
	}
	for i := range c.Universes {
		for _, to := range c.Universes[i].destinations() {
			if to.Addr().IsMulticast() {
				return true
			}
		}
	}
	return false
}

// describe returns the lines of Sender.Describe.
func (c *SenderConfig) describe(from string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "sACN from %s as %q, CID %s\n", from, NewSourceName(c.SourceName), uuid.UUID(c.CID))
	for i := range c.Universes {
		u := &c.Universes[i]
		fmt.Fprintf(&b, "universe %d to", u.Number)
		for j, to := range u.destinations() {
			fmt.Fprintf(&b, "%s %s", [...]string{"", ","}[min(j, 1)], to)
		}
		fmt.Fprintf(&b, ", priority %d, %d Hz", u.Priority, u.Rate)
		if u.OnChange {
			b.WriteString(" on change")
		}
		if c.Sync != 0 {
			fmt.Fprintf(&b, ", synchronized by %d", c.Sync)
		}
		b.WriteByte('\n')
	}
	return b.String()
}
