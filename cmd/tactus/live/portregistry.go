package live

import (
	"sync"
	"sync/atomic"

	"tactus/clock"
	"tactus/panel"
	"tactus/protocol/midi"
)

// portRegistry has the state of the MIDI inputs, for the page. A port's number is its
// place on the command line.
type portRegistry struct {
	mu    sync.Mutex
	ports []panel.Port
	last  [maxPorts]atomic.Int64 // when something came, plus 1; 0: nothing yet
}

// maxPorts is how many ports have their last message noted.
const maxPorts = 16

// update takes over that a port came or went.
func (b *portRegistry) update(st midi.Status) {
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

// received notes when a message came. It neither waits nor allocates.
func (b *portRegistry) received(m *midi.Message) {
	if m.Port < maxPorts {
		b.last[m.Port].Store(int64(m.At) + 1)
	}
}

// list returns the ports as they are now.
func (b *portRegistry) list(now clock.Time) []panel.Port {
	b.mu.Lock()
	defer b.mu.Unlock()
	var list []panel.Port
	for i, p := range b.ports {
		if p.Name == "" {
			continue
		}
		p.Quiet = -1
		if i < maxPorts && b.last[i].Load() > 0 {
			p.Quiet = max(0, float64((now-clock.Time(b.last[i].Load())+1)/clock.Millisecond)/1000)
		}
		list = append(list, p)
	}
	return list
}
