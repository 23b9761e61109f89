package udp

import (
	"fmt"
	"io"
	"maps"
	"net"
	"net/netip"
	"reflect"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

const (
	// lookEvery is how often a LinkWatch reads the interfaces. Linux reports most
	// changes at once, but delays the report of a lost carrier by up to a second.
	lookEvery = 250 * time.Millisecond
	// looksPerRoute is how many of these looks share one look at the routes.
	looksPerRoute = 8
	// maxRouted is the most destinations whose routes are looked up.
	maxRouted = 1024
)

// LinkError says why nothing leaves this computer by a network interface.
type LinkError struct {
	Interface string
	Reason    string
}

// Error names the interface and the reason.
func (e *LinkError) Error() string {
	return fmt.Sprintf("network interface %q %s", e.Interface, e.Reason)
}

// The reasons of a LinkError.
const (
	noInterface = "is not there"
	isDown      = "is down"
	noCarrier   = "has no carrier: its cable is unplugged or the device at the other end is off"
	noAddress   = "has no IPv4 address"
)

// LinkWatch watches the network interfaces by which packets leave, in goroutines of
// its own. It is needed because sending reports no error while a cable is unplugged:
// the system takes the packets and drops them. Any goroutine may call its methods.
type LinkWatch struct {
	name    string // always watched; "" = only those of the routes
	to      atomic.Pointer[[]netip.Addr]
	state   atomic.Pointer[linkState]
	changes atomic.Uint32
	changed chan struct{}
	events  chan struct{}
	stop    chan struct{}
	source  io.Closer // of events; nil where the system has none
	wg      sync.WaitGroup
	closing sync.Once
}

// link is a network interface as a LinkWatch sees it. Index 0: it is not there.
type link struct {
	name        string
	index       int
	up, carrier bool
	networks    []netip.Prefix
}

// linkState is what was last read. It does not change.
type linkState struct {
	links     []link
	routes    map[netip.Addr]string // destination → interface that the routes choose; "" = this computer
	unplugged map[string]bool       // interfaces without carrier; nil if there are none
	fault     *LinkError
}

// NewLinkWatch watches a named interface, and those by which the system's routes
// reach the addresses of to. It reads their state before it returns.
func NewLinkWatch(name string, to []netip.Addr) *LinkWatch {
	w := &LinkWatch{name: name, changed: make(chan struct{}, 1), events: make(chan struct{}, 1), stop: make(chan struct{})}
	w.state.Store(&linkState{})
	w.to.Store(&to)
	if source, err := openLinkEvents(); err == nil {
		w.source = source
		w.wg.Go(func() { readLinkEvents(source, w.wake) })
	}
	w.look(true)
	w.wg.Go(w.run)
	return w
}

// Watch replaces the addresses whose routes are watched.
func (w *LinkWatch) Watch(to []netip.Addr) {
	to = slices.Clone(to)
	w.to.Store(&to)
	w.wake()
}

// wake has the interfaces and routes read at once.
func (w *LinkWatch) wake() {
	select {
	case w.events <- struct{}{}:
	default:
	}
}

// Changes returns a number that differs after interfaces, addresses or routes of
// this computer changed: then a socket that failed may work if it is opened again.
func (w *LinkWatch) Changes() uint32 { return w.changes.Load() }

// Changed receives after a change; several changes may be one message.
func (w *LinkWatch) Changed() <-chan struct{} { return w.changed }

// Fault returns what keeps packets from leaving by a watched interface, nil if
// nothing does. With several such interfaces it is the first.
func (w *LinkWatch) Fault() *LinkError { return w.state.Load().fault }

// NoCarrier reports whether packets to an address would leave by an interface without
// carrier, where the system says so reliably. It allocates nothing.
//
// Such packets are better not sent to one device (unicast). They are lost in any
// case, and on Linux each of them starts a search for the hardware address of the
// device. The search waits a second before it asks again, and so delays the first
// light after the cable is back.
func (w *LinkWatch) NoCarrier(to netip.Addr) bool {
	s := w.state.Load()
	if s.unplugged == nil {
		return false
	}
	if name, ok := s.routes[to]; ok {
		return s.unplugged[name]
	}
	return s.unplugged[w.name]
}

// Link returns the index and the IPv4 networks of the named interface; index 0 if it
// is not there.
func (w *LinkWatch) Link() (index int, networks []netip.Prefix, up bool) {
	if s := w.state.Load(); w.name != "" && len(s.links) > 0 {
		l := &s.links[0]
		return l.index, l.networks, l.up && l.carrier
	}
	return 0, nil, false
}

// Close ends the watch; its methods go on telling what was last read. A second Close
// does nothing.
func (w *LinkWatch) Close() {
	w.closing.Do(func() {
		close(w.stop)
		if w.source != nil {
			w.source.Close()
		}
	})
	w.wg.Wait()
}

func (w *LinkWatch) run() {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for n := 1; ; n++ {
		select {
		case <-w.stop:
			return
		case <-w.events:
			w.count() // a failed socket is worth a try even if nothing that is watched differs
			w.look(true)
		case <-tick.C:
			w.look(n%looksPerRoute == 0)
		}
	}
}

func (w *LinkWatch) count() {
	w.changes.Add(1)
	select {
	case w.changed <- struct{}{}:
	default:
	}
}

// look reads the watched interfaces, and the routes if asked.
func (w *LinkWatch) look(routes bool) {
	old := w.state.Load()
	next := &linkState{routes: old.routes}
	if routes {
		next.routes = routesTo(*w.to.Load())
	}
	var names []string
	if w.name != "" {
		names = []string{w.name}
	}
	for _, name := range slices.Sorted(maps.Values(next.routes)) {
		if name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	carriers := readCarriers()
	for _, name := range names {
		next.add(readLink(name, carriers))
	}
	w.state.Store(next)
	if !reflect.DeepEqual(old, next) {
		w.count()
	}
}

func (s *linkState) add(l link) {
	s.links = append(s.links, l)
	reason := ""
	switch {
	case l.index == 0:
		reason = noInterface
	case !l.up:
		reason = isDown
	case !l.carrier:
		reason = noCarrier
		if carrierIsReliable {
			if s.unplugged == nil {
				s.unplugged = map[string]bool{}
			}
			s.unplugged[l.name] = true
		}
	case len(l.networks) == 0:
		reason = noAddress
	}
	if reason != "" && s.fault == nil {
		s.fault = &LinkError{l.name, reason}
	}
}

// readLink reads an interface. carriers has the carrier by index where the system
// gives it; else the flag that it runs counts.
func readLink(name string, carriers map[int]bool) link {
	l := link{name: name}
	n, err := net.InterfaceByName(name)
	if err != nil {
		return l
	}
	l.index, l.up = n.Index, n.Flags&net.FlagUp != 0
	l.carrier = n.Flags&net.FlagRunning != 0
	if on, ok := carriers[n.Index]; ok {
		l.carrier = on
	}
	l.networks = networksOf(n)
	return l
}

// routesTo returns the interfaces by which the system's routes reach addresses; "" for
// addresses of this computer, whose packets need no cable. Those of groups, and those
// without a route, are left out.
func routesTo(to []netip.Addr) map[netip.Addr]string {
	if len(to) == 0 {
		return nil
	}
	all, err := interfaces()
	if err != nil {
		return nil
	}
	owner := map[netip.Addr]string{}
	for i := range all {
		for _, p := range all[i].Networks {
			owner[p.Addr()] = all[i].Name
		}
	}
	found := map[netip.Addr]string{}
	for _, a := range to[:min(len(to), maxRouted)] {
		if a.IsMulticast() {
			continue
		}
		if _, own := owner[a]; own || a.IsLoopback() {
			found[a] = ""
			continue
		}
		if name := owner[localAddr(a)]; name != "" {
			found[a] = name
		}
	}
	return found
}

// localAddr returns the address of this computer from which packets to an address
// leave. Connecting a UDP socket sends nothing, but makes the system choose it.
func localAddr(to netip.Addr) netip.Addr {
	c, err := net.DialUDP("udp4", nil, net.UDPAddrFromAddrPort(netip.AddrPortFrom(to, 9)))
	if err != nil {
		return netip.Addr{}
	}
	defer c.Close()
	return c.LocalAddr().(*net.UDPAddr).AddrPort().Addr()
}
