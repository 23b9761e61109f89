package live

import (
	"sync"
	"sync/atomic"

	"tactus/clock"
	"tactus/panel"
	"tactus/protocol/midi"
)

// portBook knows how the MIDI inputs do, for those who look on. The numbers of
// ports are their places on the command line.
type portBook struct {
	mu    sync.Mutex
	ports []panel.Port
	last  [maxPorts]atomic.Int64 // when something came, plus 1; 0: nothing yet
}

// maxPorts is more than anybody names on a command line; what comes from others
// is not noted.
const maxPorts = 16

// changed notes that a port came or went.
func (b *portBook) changed(st midi.Status) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for len(b.ports) <= int(st.Number) {
		b.ports = append(b.ports, panel.Port{})
	}
	p := &b.ports[st.Number]
	p.Name, p.Up, p.Fault = st.Port, st.Up, ""
	if st.Err != nil {
		p.Fault = st.Err.Error()
	}
}

// heard notes that something came. It neither waits nor allocates.
func (b *portBook) heard(m *midi.Message) {
	if m.Port < maxPorts {
		b.last[m.Port].Store(int64(m.At) + 1)
	}
}

// list returns the ports as they are now.
func (b *portBook) list(now clock.Time) []panel.Port {
	b.mu.Lock()
	defer b.mu.Unlock()
	var list []panel.Port
	for i, p := range b.ports {
		if p.Name == "" {
			continue
		}
		p.Quiet = -1
		if at := clock.Time(0); i < maxPorts {
			if at = clock.Time(b.last[i].Load()); at > 0 {
				p.Quiet = max(0, float64((now-at+1)/clock.Millisecond)/1000)
			}
		}
		list = append(list, p)
	}
	return list
}
