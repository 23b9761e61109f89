package replay

import (
	"bufio"
	"errors"
	"fmt"
	"net/netip"
	"time"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/wholefile"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/protocol/dmx"
	"tactus/protocol/pcapng"
	"tactus/shows"
)

// capture is a file with the packets of a replay: its frames go through the senders of
// a run, which hand their packets over instead of sending them.
type capture struct {
	name    string
	file    *wholefile.Part
	buf     *bufio.Writer
	out     *pcapng.Writer
	started time.Time
	at      clock.Time
	outputs []engine.Output
	due     map[clock.Time][]bool // universes by how much less lead they have
	recent  []storedFrame         // for universes with less lead
	packets int
	err     error // the first of the file
}

type storedFrame struct {
	number uint64
	u      []dmx.Universe
}

// keptFrames is more frames than the longest lead has.
const keptFrames = 64

// captureSource stands for the address that the run had, which is not recorded: one
// for documentation (RFC 5737).
func captureSource() netip.AddrPort {
	return netip.AddrPortFrom(netip.AddrFrom4([4]byte{192, 0, 2, 1}), 49152)
}

func newCapture(name, program string, h *journal.Header, o *shows.Outputs) (*capture, error) {
	v := &capture{name: name, started: h.Started, due: map[clock.Time][]bool{}, recent: make([]storedFrame, keptFrames)}
	leads, most := senders.LeadsOf(o)
	for i, lead := range leads {
		late := most - lead
		if v.due[late] == nil {
			v.due[late] = make([]bool, len(leads))
		}
		v.due[late][i] = true
	}
	var err error
	options := &senders.Options{To: h.To, Interface: h.Interface, Protocol: h.Protocol}
	if v.outputs, err = senders.Capture(o, options, h.CID, v.write); err != nil {
		return nil, err
	}
	if len(v.outputs) == 0 {
		return nil, errors.New("--pcapng: the run was virtual: nothing went over a wire")
	}
	if v.file, err = wholefile.Begin(name); err != nil {
		return nil, err
	}
	v.buf = bufio.NewWriterSize(v.file, 1<<20)
	v.out, err = pcapng.NewWriter(v.buf, program)
	return v, err
}

// write writes a packet that leaves now.
func (v *capture) write(to netip.AddrPort, packet []byte) {
	if v.err == nil {
		v.err = v.out.WriteUDP(v.started.Add(time.Duration(v.at)), captureSource(), to, packet)
		v.packets++
	}
}

// record sends a frame to the universes with the longest lead, later to those with
// less, and says goodbye at the end of the show.
func (v *capture) record(r *engine.Record, u []dmx.Universe) error {
	switch r.Kind {
	case engine.RecordFrame:
		if len(v.due) > 1 {
			kept := &v.recent[r.Frame%keptFrames]
			kept.number = r.Frame
			kept.u = append(kept.u[:0], u...)
		}
		return v.send(r.At, u, v.due[0])
	case engine.RecordDelayedFrame:
		kept, due := &v.recent[r.Frame%keptFrames], v.due[r.Delay]
		if kept.number != r.Frame || due == nil || kept.u == nil {
			return fmt.Errorf("--pcapng: frame %d is sent again, but the journal and the show do not fit together", r.Frame)
		}
		return v.send(r.At, kept.u, due)
	case engine.RecordEnd:
		v.at = r.At
		for _, o := range v.outputs {
			if err := o.Close(); err != nil {
				return err
			}
		}
	}
	return v.err
}

func (v *capture) send(at clock.Time, u []dmx.Universe, due []bool) error {
	v.at = at
	for _, o := range v.outputs {
		if err := o.Send(at, u, due); err != nil {
			return err
		}
	}
	return v.err
}

// finish ends the file and puts it in its place.
func (v *capture) finish() error {
	if err := v.buf.Flush(); err != nil {
		return err
	}
	return v.file.Keep()
}
