package senders

import (
	"cmp"
	"net/netip"
	"slices"
	"strings"

	"github.com/gofrs/flock"
	"github.com/rs/zerolog"

	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
	"tactus/shows"
)

// The protocols by name.
const (
	SACN    = "sacn"
	ArtNet  = "art-net"
	Virtual = "virtual"
)

// Options change where a show's universes go. Each is empty where the
// show's own choice counts.
type Options struct {
	To        string // ADDRESS or ADDRESS:PORT that takes everything by unicast
	Interface string // network interface to send from
	Protocol  string // sacn, art-net or virtual, for all universes
	State     string // folder of this installation's sACN identity
	Streams   Streams
	// Standing places the senders beside those of another run; nil: there is none.
	Standing *Standing
}

// Set is every output of a session.
type Set struct {
	List     []engine.Output
	Describe []string
	sacn     *sacn.Sender   // nil without sACN
	artnet   *artnet.Sender // nil without Art-Net
	identity *flock.Flock   // nil without sACN, or where another run has it
	CID      [16]byte       // of sACN; zeros without
}

// Open makes the outputs of a show as the flags change them. A universe
// that is virtual goes nowhere.
func Open(o *shows.Outputs, f *Options, log zerolog.Logger) (Set, error) {
	var w Set
	universes, err := targets(o.Universes, f)
	if err != nil {
		return w, err
	}
	if err := checkSyncedLeads(o, universes); err != nil {
		return w, err
	}
	if c := sacnConfig(o, universes, f); len(c.Universes) > 0 {
		c.CID, w.identity = loadIdentity(f.State, log)
		w.CID = c.CID
		f.Streams.continueSACN(&c)
		s, err := sacn.NewSender(c)
		if err != nil {
			w.Close()
			return w, err
		}
		w.sacn = s
		w.add(placeSACN(f.Standing, s), s.Describe())
	}
	if c := artNetConfig(o, universes, f); len(c.Universes) > 0 {
		f.Streams.continueArtNet(&c)
		s, err := artnet.NewSender(c)
		if err != nil {
			w.Close()
			return w, err
		}
		w.artnet = s
		w.add(placeArtNet(f.Standing, s), s.Describe())
	}
	return w, nil
}

// add adds a sender and the lines that describe it.
func (w *Set) add(s engine.Output, describe string) {
	w.List = append(w.List, s)
	w.Describe = append(w.Describe, strings.Split(strings.TrimRight(describe, "\n"), "\n")...)
}

// target is a universe and where it goes; port 0 is the protocol's own.
type target struct {
	shows.Universe
	to []netip.AddrPort
}

// targets applies --protocol and --to to a copy of the universes.
func targets(universes []shows.Universe, f *Options) ([]target, error) {
	var list []target
	for _, u := range universes {
		t := target{Universe: u}
		for _, a := range u.To {
			t.to = append(t.to, netip.AddrPortFrom(a, 0))
		}
		list = append(list, t)
	}
	var to netip.AddrPort
	if f.To != "" {
		var err error
		if to, err = address(f.To); err != nil {
			return nil, err
		}
	}
	for i := range list {
		u := &list[i]
		switch f.Protocol {
		case "":
		case SACN:
			if u.Protocol != shows.SACN {
				*u = target{Universe: shows.Universe{Name: u.Name, Protocol: shows.SACN, Number: firstUnused(list, shows.SACN, i+1), Priority: sacn.DefaultPriority, Multicast: true, Rate: u.Rate}}
			}
		case ArtNet:
			if u.Protocol != shows.ArtNet {
				*u = target{Universe: shows.Universe{Name: u.Name, Protocol: shows.ArtNet, Number: firstUnused(list, shows.ArtNet, i), Rate: u.Rate}}
			}
		case Virtual:
			u.Protocol = shows.Virtual
		default:
			return nil, usage.Errorf("--protocol %q: want sacn, art-net or virtual", f.Protocol)
		}
		if to.IsValid() {
			u.to, u.Multicast, u.Broadcast = []netip.AddrPort{to}, false, false
		}
	}
	return list, nil
}

// firstUnused returns the first number from n on that no universe of a protocol has.
func firstUnused(list []target, p shows.Protocol, n int) int {
	for slices.ContainsFunc(list, func(t target) bool { return t.Protocol == p && t.Number == n }) {
		n++
	}
	return n
}

// address reads ADDRESS or ADDRESS:PORT; port 0 is the protocol's own.
func address(text string) (netip.AddrPort, error) {
	if a, err := netip.ParseAddrPort(text); err == nil && a.Addr().Is4() {
		return a, nil
	}
	a, err := netip.ParseAddr(text)
	if err != nil || !a.Is4() {
		return netip.AddrPort{}, usage.Errorf("--to %q: want an IPv4 address, like 127.0.0.1 or 10.0.0.7:5568", text)
	}
	return netip.AddrPortFrom(a, 0), nil
}

// sacnConfig says which universes go out as sACN, and where to.
func sacnConfig(o *shows.Outputs, universes []target, f *Options) sacn.SenderConfig {
	c := sacn.SenderConfig{
		SourceName: o.SACN.SourceName, Interface: cmp.Or(f.Interface, o.SACN.Interface), Sync: o.SACN.Sync,
		Spread: udp.DefaultSpread,
		OnExit: map[shows.ExitRule]sacn.OnExit{
			shows.ExitHold: sacn.Hold, shows.ExitFade: sacn.Fade, shows.ExitTerminate: sacn.Terminate,
		}[o.Exit.Rule],
	}
	for i, u := range universes {
		if u.Protocol == shows.SACN {
			c.Universes = append(c.Universes, sacn.UniverseConfig{
				Source: i, Number: uint16(u.Number), Priority: u.Priority, Rate: u.Rate, OnChange: u.OnChange,
				Destinations: u.to, Multicast: u.Multicast,
			})
		}
	}
	return c
}

// artNetConfig says which universes go out as Art-Net, and where to.
func artNetConfig(o *shows.Outputs, universes []target, f *Options) artnet.SenderConfig {
	c := artnet.SenderConfig{
		Interface: cmp.Or(f.Interface, o.ArtNet.Interface), Sync: o.ArtNet.Sync, Poll: o.ArtNet.Poll, BindPort: artnet.Port,
		Spread: udp.DefaultSpread,
	}
	if f.To != "" { // nothing but what was asked for leaves this machine
		c.Poll, c.Interface, c.BindPort = false, "", 0
	}
	for i, u := range universes {
		if u.Protocol == shows.ArtNet {
			c.Universes = append(c.Universes, artnet.UniverseConfig{
				Source: i, PortAddress: uint16(u.Number), Rate: u.Rate, Nodes: u.to, Broadcast: u.Broadcast, OnChange: u.OnChange,
			})
		}
	}
	return c
}

// Close closes outputs that the loop did not get to.
func (w *Set) Close() {
	for _, o := range w.List {
		_ = o.Close() // a second time is harmless; the first has told
	}
	if w.identity != nil {
		_ = w.identity.Close()
	}
}
