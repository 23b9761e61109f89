package engine

import "tactus/clock"

// Checkpoints keeps the checkpoints of a loop, for another process to go on from. It is
// called on the loop's goroutine after a frame, so neither call may wait.
type Checkpoints interface {
	// Begin returns a buffer for the next checkpoint, whose length does not matter. Nil:
	// none is wanted now. It should have room for one, as the loop allocates otherwise.
	Begin() []byte
	// Commit takes the checkpoint. It is in Begin's buffer, or in another one if that was
	// too small. The loop keeps no reference to it.
	Commit(b []byte)
}

// checkpointShare is the largest part of the time that a loop spends on checkpoints: one in
// 50, which is 450 µs of a frame at 44 frames a second. Those that an input or a change of
// the music asks for do not wait for that part of the time, and count too.
const checkpointShare = 50

// checkpointWait is how long a checkpoint may wait for a frame after which there is time for
// it. On a small show there nearly always is; that of 16,384 heads takes some milliseconds.
const checkpointWait = clock.Second

// checkpointing decides when a loop makes a checkpoint.
type checkpointing struct {
	due     clock.Time // when the next may be made without a change
	changed bool       // a command or a message of the transport came since the last
	seen    musicPlace // at the last
	took    clock.Time // how long the next is expected to take; 0: none was made yet
	waits   bool       // one has been due since dueFrom
	dueFrom clock.Time
	frames  uint64 // how many frames had been made when the last checkpoint was
}

// musicPlace is what makes a checkpoint due when it changes.
type musicPlace struct {
	shown                      shownCue
	song, section, programSong int32
	armed, soon                armed
	entries, cuesBegun         uint32
	playing, held              bool
}

func (e *Engine) musicPlace() musicPlace {
	t := &e.play
	return musicPlace{
		shown: e.shown, song: t.song, section: t.section, programSong: t.programSong, armed: t.armed, soon: t.soon,
		entries: t.entries, cuesBegun: e.cuesBegun, playing: t.playing, held: e.held,
	}
}

// AppendCheckpoint appends all that later frames depend on, after the last frame. It is for
// the goroutine that runs the loop, or for anyone before Run and after it. Universes with
// less lead than the longest have frames on the way: these are not in it.
func (l *Loop) AppendCheckpoint(b []byte) []byte {
	k := checkpoint{
		info:   CheckpointInfo{Show: l.engine.prog.Name, Origin: l.config.Origin.Earlier(l.following.shift), At: l.madeAt, Frame: l.health.Frames},
		frames: &l.frames, evidence: &l.evidence, health: &l.health,
	}
	return k.append(b)
}

// recordCheckpoint makes the checkpoint that was asked for, after the frame at now.
func (l *Loop) recordCheckpoint(now clock.Time) {
	if !l.leaving && l.checkpointAsked.Swap(false) {
		l.config.Journal.Append(&Record{Kind: RecordCheckpoint, At: now, Frame: l.health.Frames, Checkpoint: l.AppendCheckpoint(nil)})
	}
}

// keepCheckpoint makes a checkpoint of the last frame if one is due: at once after a
// command, a message of the transport or a change of the music, else as often as
// checkpointShare allows. It comes after the last slice of the frame, and not when the next
// frame, or an earlier one for universes with less lead, would be late for it, unless it has
// waited for checkpointWait; after twice that it does not wait for slices either. During
// the goodbye none is made: the show goes on from before it.
func (l *Loop) keepCheckpoint() {
	if l.leaving || l.config.Checkpoints == nil {
		return
	}
	k, place, now := &l.checkpointing, l.engine.musicPlace(), l.madeAt
	if l.health.Frames == k.frames || !k.changed && place == k.seen && now < k.due {
		return
	}
	if !k.waits {
		k.waits, k.dueFrom = true, now
	}
	waited := now - k.dueFrom
	if waited < checkpointWait && l.now()+k.took > min(l.grid.next(), l.delayed.next()) || waited < 2*checkpointWait && l.nextSlice() != never {
		return
	}
	b := l.config.Checkpoints.Begin()
	if b == nil {
		return
	}
	from := l.config.Base.Now()
	l.config.Checkpoints.Commit(l.AppendCheckpoint(b[:0]))
	k.changed, k.seen, k.waits, k.frames = false, place, false, l.health.Frames
	took := l.config.Base.Now() - from
	k.due = now + checkpointShare*took
	if k.took > 0 { // a computer that was busy once does not have the next one wait
		took = min(took, 2*k.took)
	}
	k.took = took
}

// Program returns the program that plays: another one once an edit is taken over. It is for
// the goroutine that runs the loop, or for anyone before Run and after it.
func (l *Loop) Program() *Program { return l.engine.prog }

// RequestCheckpoint asks for a RecordCheckpoint in the journal's queue after the next frame:
// with the records after it, it has the exact state. It may be called by anyone.
func (l *Loop) RequestCheckpoint() { l.checkpointAsked.Store(true) }

// takeOver takes over what a restored show has besides engine and clock, and returns the
// position of its last frame.
func (l *Loop) takeOver(r *Restored) clock.Position {
	l.tempoSong, l.tempoChanges, l.announced = r.frames.tempoSong, r.frames.tempoChanges, r.frames.announced
	l.evidence, l.madeAt, l.last = r.evidence, r.Info.At, lastFrame{}
	l.health = r.health
	return l.clock.At(r.Info.At + l.lead)
}
