package artnet

import (
	"errors"
	"fmt"
	"net/netip"
	"slices"
	"strings"

	"tactus/protocol/dmx"
	"tactus/protocol/udp"
)

// ErrConfig is wrapped by every error of NewSender.
var ErrConfig = errors.New("artnet: bad configuration")

// SenderConfig configures a Sender.
type SenderConfig struct {
	// Interface is the name of the network interface, like "eth0". With "" the
	// system's routes choose; then Broadcast is not possible, and polls and ArtSync
	// go to the patched nodes by unicast.
	Interface string
	Universes []UniverseConfig
	// Sync sends an ArtSync after the data of every frame, so that nodes output all
	// universes together. The standard defines it as a broadcast: it goes to the
	// directed broadcast address of the interface's first network when Interface is
	// set, else to every node that gets data. A node obeys it only from the address
	// that its data comes from, and not while it merges two sources.
	Sync bool
	// Poll sends polls for nodes every 2.5 to 3 s, and answers the polls of others.
	Poll bool
	// Name is the short name shown to others, up to 17 octets; "" = "tactus".
	Name string
	// BindPort is the local port of polls and their replies; 0 = any free port. Many
	// nodes answer to port 6454 only, so use that in a show. Data is always sent
	// from free ports.
	BindPort int
	// NodePort is the UDP port of nodes that answer polls; 0 = 6454, the port of all
	// real nodes.
	NodePort int

	// Spread bounds how many packets of a frame leave at once; 0 = all: see Send.
	Spread udp.Spread
}

// UniverseConfig configures one universe.
type UniverseConfig struct {
	Source      int    // index into the universes given to Send
	PortAddress uint16 // 0..32767; each at most once
	Rate        int    // packets a second, 1..44; 0 = 44
	// Nodes get the universe even if they do not answer polls; port 0 = 6454.
	Nodes []netip.AddrPort
	// Broadcast sends to the interface's directed broadcast address instead of to
	// nodes. It is for old nodes only: Art-Net 4 forbids it, strict nodes ignore it,
	// and it loads every device on the network.
	Broadcast bool
	// OnChange sends changed levels three times, and unchanged levels every 850 to
	// 900 ms.
	OnChange bool
	// Slots is the number of slots sent, 1..512, rounded up to even; 0 = 512. Some
	// nodes have faults with fewer than 512.
	Slots int
	// Sequence is the sequence number of the first packet, 1..255; 0 = 1.
	Sequence uint8
}

// normalize returns c with defaults, and all errors in it.
func (c SenderConfig) normalize() (SenderConfig, error) {
	var faults []error
	fault := func(format string, args ...any) {
		faults = append(faults, fmt.Errorf("%w: "+format, append([]any{ErrConfig}, args...)...))
	}
	if c.Name == "" {
		c.Name = "tactus"
	}
	if c.NodePort == 0 {
		c.NodePort = Port
	}
	if len(c.Name) > 17 {
		fault("name %q has %d octets, at most 17", c.Name, len(c.Name))
	}
	for _, p := range []int{c.BindPort, c.NodePort} {
		if p < 0 || p > 65535 {
			fault("port %d is not 0 to 65535", p)
		}
	}
	if c.Spread < 0 || c.Spread > udp.MaxSpread {
		fault("spread %d is not 1 to %d packets a millisecond, or 0 for off", c.Spread, udp.MaxSpread)
	}
	c.Universes = slices.Clone(c.Universes)
	used := map[uint16]bool{}
	for i := range c.Universes {
		u := &c.Universes[i]
		if used[u.PortAddress] {
			fault("port-address %d is used twice", u.PortAddress)
		}
		used[u.PortAddress] = true
		if u.Broadcast && c.Interface == "" {
			fault("port-address %d: broadcast needs an interface", u.PortAddress)
		}
		for _, err := range u.normalize() {
			fault("port-address %d: %w", u.PortAddress, err)
		}
	}
	return c, errors.Join(faults...)
}

// normalize sets the defaults of u and returns all errors in it.
func (u *UniverseConfig) normalize() (faults []error) {
	if u.PortAddress > MaxPortAddress {
		faults = append(faults, errors.New("not 0 to 32767"))
	}
	if u.Rate == 0 {
		u.Rate = dmx.MaxRate
	}
	if u.Slots == 0 {
		u.Slots = dmx.Slots
	}
	if u.Rate < 1 || u.Rate > dmx.MaxRate {
		faults = append(faults, fmt.Errorf("rate %d is not 1 to 44", u.Rate))
	}
	if u.Slots < 1 || u.Slots > dmx.Slots {
		faults = append(faults, fmt.Errorf("%d slots are not 1 to 512", u.Slots))
	}
	if u.Source < 0 {
		faults = append(faults, fmt.Errorf("source %d is below 0", u.Source))
	}
	u.Nodes = slices.Clone(u.Nodes)
	for i, n := range u.Nodes {
		a := n.Addr().Unmap()
		if !isUnicast(a) {
			faults = append(faults, fmt.Errorf("node %v is not the IPv4 address of one device", n))
		}
		port := n.Port()
		if port == 0 {
			port = Port
		}
		u.Nodes[i] = netip.AddrPortFrom(a, port)
	}
	return faults
}

// limitedBroadcast is 255.255.255.255 (RFC 919, 7).
func limitedBroadcast() netip.Addr { return netip.AddrFrom4([4]byte{255, 255, 255, 255}) }

// isUnicast reports whether a can be the address of a single device.
func isUnicast(a netip.Addr) bool {
	a = a.Unmap()
	return a.Is4() && !a.IsUnspecified() && !a.IsMulticast() && a != limitedBroadcast()
}

// patched returns every node that the show sends to, without repeats.
func (c *SenderConfig) patched() []netip.AddrPort {
	var list []netip.AddrPort
	for i := range c.Universes {
		for _, n := range c.Universes[i].Nodes {
			if !slices.Contains(list, n) {
				list = append(list, n)
			}
		}
	}
	return list
}

// describe describes c at the start of a run, with the present state of the
// interface.
func (c *SenderConfig) describe() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Art-Net from %s; ArtSync %s; polls %s\n", c.describeInterface(), onOff(c.Sync), onOff(c.Poll))
	for i := range c.Universes {
		u := &c.Universes[i]
		fmt.Fprintf(&b, "  port-address %s, %d slots, %d Hz", AddressName(u.PortAddress), (u.Slots+1)&^1, u.Rate)
		if u.OnChange {
			b.WriteString(" on change")
		}
		switch {
		case u.Broadcast:
			b.WriteString(" by BROADCAST")
		case len(u.Nodes) == 0 && !c.Poll:
			b.WriteString(" to NOBODY: no node patched, and polls are off")
		default:
			b.WriteString(" to")
			for _, n := range u.Nodes {
				fmt.Fprintf(&b, " %v", n)
			}
			if c.Poll {
				b.WriteString(" + nodes that subscribe")
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func (c *SenderConfig) describeInterface() string {
	if c.Interface == "" {
		return "the interface that the system's routes choose"
	}
	n, err := udp.Choose(c.Interface)
	if err != nil {
		return fmt.Sprintf("%s (NOT USABLE NOW: %v)", c.Interface, err)
	}
	s := c.Interface
	for _, p := range n.Networks {
		s += " " + p.String()
	}
	return s
}

func onOff(on bool) string {
	if on {
		return "on"
	}
	return "off"
}
