package engine

import (
	"tactus/clock"
	"tactus/protocol/dmx"
)

// Replay plays the records of a journal again, without a timer. The same program and
// records give the same bytes. It begins with the show, or at a checkpoint with the records
// after it; and a Loop can go on where it stands: see TakeOver.
type Replay struct {
	frames
	evidence barEvidence
	health   Health
	at       clock.Time // of the last frame
	pos      clock.Position
}

// NewReplay prepares to replay what a Loop with this program, clock configuration and
// longest lead recorded.
func NewReplay(p *Program, c clock.Config, lead clock.Time) *Replay {
	return &Replay{frames: newFrames(New(p), clock.NewTransport(c), dmx.MaxRate, lead, false)}
}

// ResumeReplay prepares to replay what a Loop recorded after a checkpoint.
func ResumeReplay(from *Restored) *Replay {
	return &Replay{
		frames: from.frames, evidence: from.evidence, health: from.health,
		at: from.Info.At, pos: from.frames.clock.At(from.Info.At + from.frames.lead),
	}
}

// TakeOver returns the show as it stands after the last record, for LoopConfig.Resume: the
// loop goes on live from there. Its times are those of the records; a Base on another
// computer is moved to them by Base.Shifted. The replay is not used after it.
func (r *Replay) TakeOver() *Restored {
	to := &Restored{
		Info:   CheckpointInfo{Show: r.engine.prog.Name, At: r.at, Frame: r.health.Frames},
		frames: r.frames, evidence: r.evidence, health: r.health,
	}
	to.frames.grid = frameGrid{} // the records do not have it: the loop plans anew
	return to
}

// PlayRecord plays the next record. For a RecordFrame it returns the frame, which the
// next one overwrites; else nil.
func (r *Replay) PlayRecord(rec *Record) []dmx.Universe {
	at := rec.At + r.lead
	switch rec.Kind {
	case RecordEvent:
		r.noteTempo(&rec.Event, rec.At)
		r.clock.Handle(rec.Event)
		r.evidence.handleTransport(rec.Event.Kind)
	case RecordCommand:
		r.engine.Do(rec.Command, r.clock.At(at))
		if rec.Command.Kind == AlignBars {
			r.evidence.clear()
		}
		r.weighNote(&r.evidence, &rec.Command, rec.NoteAt, r.health.Arrivals.Spread)
	case RecordLevels:
		levels := rec.Levels
		r.engine.TakeLevels(&levels, r.clock.At(at))
	case RecordMasterMove:
		r.engine.masters.all.moveTo(rec.Command.Level, rec.Command.Over, at)
	case RecordFrame:
		r.at, r.pos = rec.At, r.clock.At(at)
		u := r.engine.Frame(r.pos)
		h := &r.health
		h.Frames, h.Missed, h.Errors = rec.Frame+1, h.Missed+rec.Missed, h.Errors+rec.Errors
		h.Arrivals = r.clock.Arrivals()
		return u
	}
	return nil
}

// Reload goes on with an edited program, for a RecordReload.
func (r *Replay) Reload(to *Reload) bool { return r.reload(to, r.pos) }

// Position returns where the music was at the last frame.
func (r *Replay) Position() clock.Position { return r.pos }

// Status returns where the show stood at the last frame.
func (r *Replay) Status() Status { return r.engine.Status(r.pos) }
