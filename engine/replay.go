package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// Replay plays the records of a journal again, without a timer. The same program and
// records give the same bytes.
type Replay struct {
	engine *Engine
	clock  *clock.Transport
	lead   clock.Time
	pos    clock.Position
}

// NewReplay prepares to replay what a Loop with this program, clock configuration and
// longest lead recorded.
func NewReplay(p *Program, c clock.Config, lead clock.Time) *Replay {
	r := &Replay{engine: New(p), clock: clock.NewTransport(c), lead: lead}
	r.engine.play.lead = lead
	return r
}

// PlayRecord plays the next record. For a RecordFrame it returns the frame, which the
// next one overwrites; else nil.
func (r *Replay) PlayRecord(rec *Record) []dmx.Universe {
	at := rec.At + r.lead
	switch rec.Kind {
	case RecordEvent:
		r.clock.Handle(rec.Event)
	case RecordCommand:
		r.engine.Do(rec.Command, r.clock.At(at))
	case RecordMasterMove:
		r.engine.masters.all.moveTo(rec.Command.Level, rec.Command.Over, at)
	case RecordFrame:
		r.pos = r.clock.At(at)
		return r.engine.Frame(r.pos)
	}
	return nil
}

// Reload goes on with an edited program, for a RecordReload.
func (r *Replay) Reload(to *Reload) bool { return r.engine.Reload(to, r.pos) }

// Position returns where the music was at the last frame.
func (r *Replay) Position() clock.Position { return r.pos }

// Status returns where the show stood at the last frame.
func (r *Replay) Status() Status { return r.engine.Status(r.pos) }
