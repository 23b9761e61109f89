package resume

import (
	"context"
	"sync"
	"sync/atomic"

	"github.com/rs/zerolog"

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
	log    zerolog.Logger

	made    *draft                // by the loop, for the next checkpoint
	latest  atomic.Pointer[draft] // handed over
	spare   *draft                // of the goroutine that writes
	wake    chan struct{}
	healthy bool // this run has lasted a second

	shows   atomic.Pointer[[]storedShow] // newest last; those before are dropped
	mu      sync.Mutex                   // of the folder, and of failing
	failing bool                         // that the disk refuses has been told
}

// storedShow is a program that may play and the checksum of the files it was made of.
type storedShow struct {
	program *engine.Program
	content string
	head    []byte // the first fields of a state with this show
}

// draft is a state on its way to the disk.
type draft struct {
	file       []byte // the file's first part, then all of it
	checkpoint []byte
	content    string
	fresh      bool // not written yet
}

// NewKeeper prepares to keep states in a folder. saved has what they have in common.
func NewKeeper(folder *Folder, saved Saved, log zerolog.Logger) *Keeper {
	k := &Keeper{
		folder: folder, saved: saved, log: log,
		made: &draft{}, spare: &draft{}, wake: make(chan struct{}, 1),
	}
	k.latest.Store(&draft{})
	return k
}

// StoreShow keeps the files of a program that plays, or is about to. States of a program
// are kept once its files are. An error is told once and means that states of this program
// are not kept.
func (k *Keeper) StoreShow(p *engine.Program, content string, archive []byte) {
	k.mu.Lock()
	err := k.folder.WriteArchive(content, archive)
	k.mu.Unlock()
	if k.tell(err); err != nil {
		return
	}
	s := k.saved
	s.Content = content
	shows := []storedShow{{p, content, s.appendHead(nil)}}
	if before := k.shows.Load(); before != nil {
		shows = append([]storedShow{(*before)[len(*before)-1]}, shows...) // it plays until the loop has taken the edit
	}
	k.shows.Store(&shows)
}

// Begin implements [engine.Checkpoints].
func (k *Keeper) Begin() []byte {
	if k.shows.Load() == nil {
		return nil
	}
	if k.made.checkpoint == nil {
		k.made.checkpoint = make([]byte, 0, firstSize)
	}
	return k.made.checkpoint[:0]
}

// firstSize is room for a checkpoint of a small show; it grows where it does not do.
const firstSize = 512 << 10

// Commit implements [engine.Checkpoints].
func (k *Keeper) Commit(checkpoint []byte) {
	d := k.made
	d.checkpoint, d.content = checkpoint, ""
	program := k.Program()
	for _, s := range *k.shows.Load() {
		if s.program == program {
			d.content = s.content
			d.file = append(d.file[:0], make([]byte, offContent)...)
			d.file = append(d.file, s.head...)
		}
	}
	if d.content == "" {
		return // its files are not kept
	}
	d.streams(k.Streams)
	d.fresh = true
	k.made = k.latest.Swap(d)
	k.made.fresh = false
	select {
	case k.wake <- struct{}{}:
	default: // it has not looked yet
	}
}

// streams appends the sequence numbers with their length before them.
func (d *draft) streams(appendTo func([]byte) []byte) {
	const lengthSize = 3 // a varint of 3 bytes, with leading zeros: up to 2 MiB
	at := len(d.file)
	d.file = appendTo(append(d.file, 0, 0, 0))
	n := len(d.file) - at - lengthSize
	d.file[at], d.file[at+1], d.file[at+2] = byte(n)|0x80, byte(n>>7)|0x80, byte(n>>14)&0x7f
}

// Run writes states until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
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
	d.file = appendBytes(d.file, d.checkpoint)
	k.mu.Lock()
	sealFile(d.file, k.folder.last+1)
	err := k.folder.writeFile(d.file)
	if err == nil && len(*k.shows.Load()) > 1 {
		k.dropOlder(d.content)
	}
	k.mu.Unlock()
	k.tell(err)
}

// dropOlder forgets the show before an edit once both files hold states of the new one.
func (k *Keeper) dropOlder(content string) {
	shows := *k.shows.Load()
	if newest := shows[len(shows)-1]; newest.content == content {
		k.edited++
	}
}

// tell logs once that the disk refuses, and that it takes states again.
func (k *Keeper) tell(err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	switch {
	case err != nil && !k.failing:
		k.log.Warn().Err(err).Msg("the state of the show cannot be kept; the show goes on, and a restart would begin anew")
	case err == nil && k.failing:
		k.log.Info().Msg("the state of the show is kept again")
	}
	k.failing = err != nil
}
