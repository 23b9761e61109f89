package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// Replay plays the records of a journal again: the same clock, the same engine,
// no time and no loop. The same program and records give the same bytes.
type Replay struct {
	engine *Engine
	clock  *clock.Transport
	lead   clock.Time
	pos    clock.Position
}

// NewReplay prepares to replay what a Loop with this program, clock and longest
// lead has recorded.
func NewReplay(p *Program, c clock.Config, lead clock.Time) *Replay {
	r := &Replay{engine: New(p), clock: clock.NewTransport(c), lead: lead}
	r.engine.play.lead = lead
	return r
}

// PlayRecord takes the next record. For a RecordFrame it returns the frame, which is the
// replay's own and changes with the next one; for all others nil.
func (r *Replay) PlayRecord(rec *Record) []dmx.Universe {
	at := rec.At + r.lead
	switch rec.Kind {
	case RecordEvent:
		r.clock.Handle(rec.Event)
	case RecordCommand:
		r.engine.Do(rec.Command, r.clock.At(at))
	case RecordMasterMove:
		r.engine.masters.move(rec.Command.Level, rec.Command.Over, at)
	case RecordFrame:
		r.pos = r.clock.At(at)
		return r.engine.Frame(r.pos)
	}
	return nil
}

// Reload goes on with another program, for a record that was RecordReload.
func (r *Replay) Reload(to *Reload) bool { return r.engine.Reload(to, r.pos) }

// Position returns where the music was at the last frame.
func (r *Replay) Position() clock.Position { return r.pos }

// Status returns where the show stood at the last frame.
func (r *Replay) Status() Status { return r.engine.Status(r.pos) }
