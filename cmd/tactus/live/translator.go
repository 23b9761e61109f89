package live

import (
	"context"
	"sync/atomic"

	"tactus/clock"
	"tactus/cmd/tactus/laptop"
	"tactus/engine"
	"tactus/protocol/midi"
)

// Translator turns MIDI messages into what the loop takes, in order.
type Translator struct {
	Notes     *engine.Notes
	clockPort uint8 // its clock leads; that of other ports is ignored
	dropped   atomic.Uint64
	oscInput  *oscInput     // gets a new program too; or nil
	ticks     *laptop.Ticks // gets the clock too; or nil
	reloads   chan *engine.Reload
	replaced  atomic.Pointer[engine.Program] // plays from now on, in place of the one before; nil: no change
	heard     func(*midi.Message)            // gets every message; or nil
}

// Input returns what a message asks for, if anything.
func (t *Translator) Input(m midi.Message) (engine.Input, bool) {
	if event, ok := m.ClockEvent(); ok {
		return engine.Input{Event: event}, m.Port == t.clockPort
	}
	var command engine.Command
	ok := false
	switch m.Kind() {
	case midi.NoteOn:
		if kind, ok := t.Notes.Clock(m.Channel(), m.Note()); ok {
			return engine.Input{Event: clock.Event{At: m.At, Kind: kind}}, true
		}
		command, ok = t.Notes.NoteOn(m.Channel(), m.Note())
	case midi.ProgramChange:
		command, ok = t.Notes.ProgramChange(m.Channel(), m.Program())
	case midi.ControlChange:
		command, ok = t.Notes.ControlChange(m.Channel(), m.Controller(), m.Value())
	}
	in := engine.Input{Command: command}
	if command.Kind == engine.FireNote && m.Port == t.clockPort {
		in.At = m.At // the DAW's own note tells where its bars are; a pad's does not
	}
	return in, ok
}

// reload gives an edited program to the pump. It returns false when ctx ended first.
func (t *Translator) reload(ctx context.Context, r *engine.Reload) bool {
	select {
	case t.reloads <- r:
		return true
	case <-ctx.Done():
		return false
	}
}

// replaceProgram goes on with the program of another computer that is followed.
func (t *Translator) replaceProgram() {
	p := t.replaced.Swap(nil)
	if p == nil {
		return
	}
	t.Notes = &p.Notes
	if t.oscInput != nil {
		t.oscInput.program.Store(p)
	}
}

// pump moves messages to the loop until ctx ends: those of the clock's port from its inbox
// to its queue, those of the other ports, pads, from theirs to theirs. Where the loop does
// not keep up it drops and counts them: a late tick is worse than a lost one.
func (t *Translator) pump(ctx context.Context, clocks, pads <-chan midi.Message, to, padsTo chan<- engine.Input) {
	for {
		select {
		case <-ctx.Done():
			return
		case r := <-t.reloads:
			// In order with the messages: those before it mean the old show's indexes.
			select {
			case to <- engine.Input{Reload: r}:
				t.Notes = &r.Program().Notes
				if t.oscInput != nil {
					t.oscInput.program.Store(r.Program())
				}
			case <-ctx.Done():
			}
		case m := <-clocks:
			t.pass(&m, to)
		case m := <-pads:
			t.pass(&m, padsTo)
		}
	}
}

// pass puts what a message asks for into a queue, or drops and counts it.
func (t *Translator) pass(m *midi.Message, to chan<- engine.Input) {
	if t.heard != nil {
		t.heard(m)
	}
	t.replaceProgram()
	in, ok := t.Input(*m)
	if !ok {
		return
	}
	if t.ticks != nil {
		t.ticks.Handle(in.Event)
	}
	select {
	case to <- in:
	default:
		t.dropped.Add(1)
	}
}
