package watch

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode"

	"tactus/cmd/tactus/senders"
	"tactus/fixtures"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/shows"
	"tactus/shows/language"
)

// Arrival is one universe from one source, as printed.
type Arrival struct {
	Protocol string            `json:"protocol"`
	Universe int               `json:"universe"`
	Source   string            `json:"source,omitempty"`
	From     string            `json:"from"`
	Priority int               `json:"priority,omitempty"`
	Status   string            `json:"status"`
	Control  string            `json:"control,omitempty"` // the part the source plays among those of its universe
	Why      string            `json:"why,omitempty"`     // it has that part
	Rate     float64           `json:"rate_hz"`
	Packets  uint64            `json:"packets"`
	Late     uint64            `json:"late"`
	Missing  uint64            `json:"missing,omitempty"`
	Ends     uint64            `json:"terminated_packets,omitempty"`
	Slots    []int             `json:"slots"`
	Fixtures map[string]levels `json:"fixtures,omitempty"`
	levels   [dmx.Slots]byte
}

// leftOut tells that a table of sources is full, which only a flood or a fault
// on the network can cause.
type leftOut struct {
	Protocol string `json:"protocol"`
	LeftOut  uint64 `json:"packets_left_out"` // of sources beyond those that are kept
}

// linkFault tells why nothing can arrive by the network interface.
type linkFault struct {
	Interface string `json:"interface"`
	Fault     string `json:"fault"`
}

// fault returns what keeps the interface from receiving, nil if nothing does. The
// receivers listen again by themselves when it is back.
func (w *watcher) fault() *linkFault {
	for _, r := range w.links {
		if f := r.LinkFault(); f != nil {
			return &linkFault{f.Interface, f.Reason}
		}
	}
	return nil
}

// levels are a fixture's channels by name, 0 to 1.
type levels map[string]float64

// lostAfter is after how long an Art-Net stream counts as lost. Art-Net asks for
// data at least every 4 s.
const lostAfter = 4 * time.Second

// arrivals copies what is known now.
func (w *watcher) arrivals() (list []Arrival, full []leftOut) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.base.Now()
	w.sacn.Expire(now)
	w.merger.Expire(now)
	parts := controls(w.merger)
	for _, l := range []leftOut{{senders.SACN, w.sacn.Overflow()}, {senders.ArtNet, w.artnet.Overflow()}} {
		if l.LeftOut > 0 {
			full = append(full, l)
		}
	}
	for _, s := range w.sacn.Sources() {
		a := Arrival{
			Protocol: senders.SACN, Universe: int(s.Universe), Source: printable(s.Name.String()), From: s.From.Addr().String(),
			Priority: int(s.Priority), Status: s.Status.String(), Rate: s.Rate, Packets: s.Packets, Late: s.Late, Missing: s.Missing,
			Ends: s.Ends, levels: s.Levels,
		}
		if part, followed := parts[controlKey{s.Universe, s.CID}]; followed && s.Status == sacn.Live {
			a.Control, a.Why = part.role.String(), part.why
		}
		list = append(list, w.finish(a, s.Slots, shows.SACN))
	}
	for _, s := range w.artnet.Universes(now) {
		a := Arrival{
			Protocol: senders.ArtNet, Universe: int(s.PortAddress), From: s.From.String(), Status: "live",
			Rate: float64(s.Rate), Packets: s.Packets, Late: s.Late, Missing: s.Missing, levels: s.Levels,
		}
		if now.Sub(s.LastAt) > lostAfter {
			a.Status = "lost"
		}
		list = append(list, w.finish(a, s.Slots, shows.ArtNet))
	}
	return list, full
}

// printable replaces what does not print by U+FFFD. A name comes from the network:
// a control character in it could take over the terminal.
func printable(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsGraphic(r) {
			return r
		}
		return unicode.ReplacementChar
	}, name)
}

// finish adds slots, and fixtures when a show is known.
func (w *watcher) finish(a Arrival, slots int, p shows.Protocol) Arrival {
	a.Slots = make([]int, slots)
	for i := range a.Slots {
		a.Slots[i] = int(a.levels[i])
	}
	if w.Show == nil {
		return a
	}
	for i, u := range w.Show.Outputs.Universes {
		if u.Protocol != p || int(u.Number) != a.Universe {
			continue
		}
		a.Fixtures = map[string]levels{}
		for _, f := range w.Show.Program.Patch.Placements() {
			if f.Universe == i {
				a.Fixtures[f.Name] = decode(&f, &a.levels)
			}
		}
	}
	return a
}

// decode reads a fixture's channels back from the slots.
func decode(f *fixtures.Placement, slots *[dmx.Slots]byte) levels {
	l := levels{}
	for i, c := range f.Profile.Channels {
		if c.Use == fixtures.Level {
			l[channelWords(f.Profile, c)] = float64(slots[f.Address-1+i]) / 255
		}
	}
	return l
}

func channelWords(p *fixtures.Profile, c fixtures.Channel) string {
	if p.Heads > 1 {
		return fmt.Sprintf("head %d %s", c.Head+1, c.Param)
	}
	return c.Param.String()
}

// print prints what arrives until ctx ends, and once more then.
func (w *watcher) print(ctx context.Context, out io.Writer) {
	tick := time.NewTicker(w.Every)
	defer tick.Stop()
	for ended := false; !ended; {
		select {
		case <-ctx.Done():
			ended = true
		case <-tick.C:
		}
		list, full := w.arrivals()
		fault := w.fault()
		if w.JSON {
			enc := json.NewEncoder(out)
			for i := range list {
				_ = enc.Encode(&list[i]) // a closed pipe ends the process
			}
			for _, l := range full {
				_ = enc.Encode(l)
			}
			if fault != nil {
				_ = enc.Encode(fault)
			}
			continue
		}
		io.WriteString(out, w.text(list))
		for _, l := range full {
			fmt.Fprintf(out, "%s: too many sources: %d packets of others are not shown\n", l.Protocol, l.LeftOut)
		}
		if fault != nil {
			fmt.Fprintf(out, "network interface %q %s; it is listened to again as soon as it is back\n", fault.Interface, fault.Fault)
		}
	}
}

// text is the readable form.
func (w *watcher) text(list []Arrival) string {
	var b strings.Builder
	if w.Redraw {
		b.WriteString("\x1b[H\x1b[2J")
	}
	if len(list) == 0 {
		b.WriteString("nothing arrives yet\n")
	}
	for i := range list {
		a := &list[i]
		fmt.Fprintf(&b, "%s universe %d", a.Protocol, a.Universe)
		if a.Protocol == senders.ArtNet {
			fmt.Fprintf(&b, " (%s)", language.PortAddress(a.Universe))
		}
		fmt.Fprintf(&b, " from %s", a.From)
		if a.Source != "" {
			fmt.Fprintf(&b, " %q, priority %d", a.Source, a.Priority)
		}
		fmt.Fprintf(&b, ": %s", a.Status)
		if a.Rate > 0 { // else it is not known yet
			fmt.Fprintf(&b, ", %.1f Hz", a.Rate)
		}
		fmt.Fprintf(&b, ", %d packets", a.Packets)
		if a.Late > 0 {
			fmt.Fprintf(&b, ", %d out of sequence", a.Late)
		}
		if a.Missing > 0 {
			fmt.Fprintf(&b, ", %d missing", a.Missing)
		}
		if a.Control != "" {
			b.WriteString("; " + a.Control)
		}
		if a.Why != "" {
			fmt.Fprintf(&b, " (%s)", a.Why)
		}
		b.WriteByte('\n')
		if a.Fixtures != nil {
			w.fixtureLines(&b, a)
		} else {
			slotLines(&b, a.Slots)
		}
	}
	return b.String()
}

// fixtureLines prints the fixtures of a universe in patch order.
func (w *watcher) fixtureLines(b *strings.Builder, a *Arrival) {
	for _, f := range w.Show.Program.Patch.Placements() {
		l, ok := a.Fixtures[f.Name]
		if !ok {
			continue
		}
		fmt.Fprintf(b, "  %-16s", f.Name)
		for _, c := range f.Profile.Channels {
			if c.Use == fixtures.Level {
				name := channelWords(f.Profile, c)
				fmt.Fprintf(b, "  %s %3.0f %%", name, 100*l[name])
			}
		}
		b.WriteByte('\n')
	}
}

// slotLines prints slots sixteen a line, leaving out lines of zeros.
func slotLines(b *strings.Builder, slots []int) {
	const row = 16
	for i := 0; i < len(slots); i += row {
		part := slots[i:min(i+row, len(slots))]
		if slices.Max(part) == 0 {
			continue
		}
		fmt.Fprintf(b, "  %3d ", i+1)
		for _, v := range part {
			fmt.Fprintf(b, " %3d", v)
		}
		b.WriteByte('\n')
	}
}
