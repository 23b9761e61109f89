package resume

import (
	"context"
	"sync"
	"sync/atomic"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/engine"
)

// Keeper keeps the checkpoints of a loop in a folder. Begin and Commit belong to the
// loop's goroutine; they never wait and, once the buffers have their size, allocate
// nothing. Run writes, on a goroutine of its own: of states that come faster than the
// disk takes them it writes the latest.
type Keeper struct {
	// Program returns the program that the loop plays now. Set it before the loop runs.
	Program func() *engine.Program
	// Streams appends the sequence numbers of the outputs. Set it before the loop runs.
	Streams func(b []byte) []byte

	folder *Folder
	saved  Saved // what all states of this run have in common
	base   clock.Base
	begun  clock.Time
	log    zerolog.Logger

	made   *draft                // of the loop, for the next state
	latest atomic.Pointer[draft] // handed over
	spare  *draft                // of the goroutine that writes
	wake   chan struct{}
	runs   atomic.Pointer[[]storedShow] // what may play: at most two, the newest last

	storing sync.Mutex // held by StoreShow
	mu      sync.Mutex
	failing bool // that the disk refuses has been told
}

// storedShow is a program and the checksum of the files that it was made of.
type storedShow struct {
	program *engine.Program
	content string
}

// draft is a state on its way to the disk.
type draft struct {
	file       []byte // buffer for the whole file
	streams    []byte
	checkpoint []byte
	content    string
	fresh      bool // not written yet
}

// longRun is how long a run must last to count as one that does not crash at once.
const longRun = clock.Second

// NewKeeper prepares to keep states in a folder. saved has what they have in common; base
// is the loop's.
func NewKeeper(folder *Folder, saved Saved, base clock.Base, log zerolog.Logger) *Keeper {
	k := &Keeper{
		folder: folder, saved: saved, base: base, begun: base.Now(), log: log,
		made: &draft{}, spare: &draft{}, wake: make(chan struct{}, 1),
	}
	k.latest.Store(&draft{})
	k.runs.Store(&[]storedShow{})
	return k
}

// StoreShow keeps the files of a program that plays, or is about to, and drops those of
// shows that no longer do; nil: they are kept already. States of a program are kept once
// its files are. An error is told once, and states of this program are then not kept.
func (k *Keeper) StoreShow(p *engine.Program, content string, archive []byte) {
	k.storing.Lock() // an edit may come while the disk takes its time with the first show
	defer k.storing.Unlock()
	if archive != nil {
		err := k.folder.WriteArchive(content, archive)
		if k.tell(err); err != nil {
			return
		}
	}
	next, keep := []storedShow{{p, content}}, []string{content}
	if now := *k.runs.Load(); len(now) > 0 { // it plays until the loop has taken the edit
		last := now[len(now)-1]
		next, keep = append([]storedShow{last}, next...), append(keep, last.content)
	}
	k.runs.Store(&next)
	k.folder.DropArchives(keep...)
}

// Begin implements [engine.Checkpoints].
func (k *Keeper) Begin() []byte {
	if len(*k.runs.Load()) == 0 {
		return nil
	}
	if k.made.checkpoint == nil {
		k.made.checkpoint = make([]byte, 0, firstSize)
	}
	return k.made.checkpoint[:0]
}

// firstSize is room for a checkpoint of a small show, in bytes; the buffers grow where it
// does not do.
const firstSize = 512 << 10

// Commit implements [engine.Checkpoints].
func (k *Keeper) Commit(checkpoint []byte) {
	d, program := k.made, k.Program()
	d.checkpoint, d.content = checkpoint, ""
	for _, s := range *k.runs.Load() {
		if s.program == program {
			d.content = s.content
		}
	}
	if d.content == "" {
		return // its files could not be kept
	}
	d.streams = k.Streams(d.streams[:0])
	d.fresh = true
	k.made = k.latest.Swap(d)
	select {
	case k.wake <- struct{}{}:
	default: // it has been woken, and has not looked yet
	}
}

// Run writes states until ctx ends, which means that the run is asked to end. From then on
// the state is marked as that of a run that ended.
func (k *Keeper) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			k.writeEnd(k.spare.streams)
			return
		case <-k.wake:
			k.writeLatest()
		}
	}
}

// writeLatest writes the latest state, unless it is written already.
func (k *Keeper) writeLatest() {
	d := k.latest.Swap(k.spare)
	k.spare = d
	if !d.fresh {
		return
	}
	d.fresh = false
	if k.base.Now()-k.begun >= longRun {
		k.saved.ShortRuns = 0
	}
	s := k.saved
	s.Content, s.Streams, s.Checkpoint = d.content, d.streams, d.checkpoint
	d.file = s.appendFile(d.file[:0], k.folder.last+1)
	k.tell(k.folder.writeFile(d.file))
}

// writeEnd marks the state as that of a run that ended as it was asked to: the next begins
// anew, and only the sequence numbers go on.
func (k *Keeper) writeEnd(streams []byte) {
	s := k.saved
	s.Ended, s.Streams = true, streams
	k.tell(k.folder.Write(&s))
}

// End keeps the last sequence numbers. Call it after Run and after the loop.
func (k *Keeper) End() {
	k.writeEnd(k.Streams(nil))
	_ = k.folder.Close() // nothing is left to write
}

// tell logs once that the disk refuses, and that it takes states again.
func (k *Keeper) tell(err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	switch {
	case err != nil && !k.failing:
		k.log.Warn().Err(err).Msg("the state of the show cannot be kept; the show goes on, and after a crash it would begin anew")
	case err == nil && k.failing:
		k.log.Info().Msg("the state of the show is kept again")
	}
	k.failing = err != nil
}
