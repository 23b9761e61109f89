package live

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/realtime"
	"tactus/cmd/tactus/resume"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/shows"
)

// MaxAway is how old a state may be at most to go on from: much longer than a supervised
// restart takes. After more time the music is elsewhere, and so may people be.
const MaxAway = time.Minute

// mostShortRuns is how many runs in a row may go on from a state and crash within a
// second. The next begins anew: the state itself may be what makes them crash.
const mostShortRuns = 3

// Kept is the state of a run that is kept on the disk, and what is left of the run
// before.
type Kept struct {
	Show  *shows.Show // of the run before, to go on with; nil: load it, and call Begin
	Files fs.FS       // that Show is made of; nil without Show, or without a folder for the state

	folder  *resume.Folder // nil: the state cannot be kept
	saved   resume.Saved   // what all states of this run have in common
	content string         // checksum of Files
	archive []byte         // of Files; nil: it is kept already
	log     zerolog.Logger

	system   clock.SystemClock
	base     clock.Base
	restored *engine.Restored // nil: the run begins anew
	before   []byte           // the checkpoint of restored
	keeper   *resume.Keeper   // nil: nothing is kept
}

// errEnded means that there is no need to go on.
var errEnded = errors.New("the run before ended as it was asked to")

// Continue opens the folder of the state, and goes on with the run before if that
// crashed. Where it cannot, it logs the reason in a line, and the run begins anew.
// It sets f.Streams and f.Kept.
func Continue(f *Options, log zerolog.Logger) *Kept {
	k := &Kept{log: log, system: realtime.SystemClock(), base: clock.NewBase()}
	f.Kept = k
	name := f.Name
	if path, err := filepath.Abs(name); err == nil && name != showfiles.Demo {
		name = path
	}
	k.saved = resume.Saved{
		Program: f.Program, Show: name,
		Setup: fmt.Sprintf("--set %q --clock %q --grid %q --lead %s", f.Set, f.Clock, f.Grid, f.Lead),
	}
	dir, err := senders.StateFolder(f.State)
	if err == nil {
		k.folder, err = resume.Open(filepath.Join(dir, "resume"))
	}
	if err != nil {
		log.Warn().Err(err).Msg("the state of the show cannot be kept: a crash would begin anew")
		return k
	}
	saved, err := k.folder.Read()
	if err == nil {
		if f.Streams, err = senders.ParseStreams(saved.Streams); err == nil {
			err = k.goOn(&saved, f.Set)
		}
	}
	if err != nil {
		log.Info().Str("because", err.Error()).Msg("the show begins anew, without the state of a run before")
	}
	return k
}

// goOn restores the state of the run before, or says why it cannot be used.
func (k *Kept) goOn(saved *resume.Saved, set string) error {
	switch {
	case saved.Ended:
		return errEnded
	case saved.Program != k.saved.Program:
		return fmt.Errorf("it was kept by %q, this is %q", saved.Program, k.saved.Program)
	case saved.Show != k.saved.Show:
		return fmt.Errorf("it is of the show %q", saved.Show)
	case saved.Setup != k.saved.Setup:
		return fmt.Errorf("that run had other options: %s, now %s", saved.Setup, k.saved.Setup)
	case saved.ShortRuns >= mostShortRuns:
		return fmt.Errorf("%d runs in a row have crashed within a second of going on from it", saved.ShortRuns)
	}
	info, err := engine.ReadCheckpoint(saved.Checkpoint)
	if err != nil {
		return err
	}
	base, err := clock.ResumeBase(info.Origin, info.At, k.system)
	if err != nil {
		return err
	}
	away := base.Now().Sub(info.At)
	if away > MaxAway {
		return fmt.Errorf("it is %s old, at most %s", away.Round(time.Second), MaxAway)
	}
	saved.ShortRuns++
	k.saved.ShortRuns = saved.ShortRuns
	if err := k.folder.Write(saved); err != nil { // else it could crash for ever
		return err
	}
	files, err := k.folder.ReadArchive(saved.Content)
	if err != nil {
		return err
	}
	show, problems := shows.Load(files, shows.Options{Set: set})
	if show == nil {
		return fmt.Errorf("the copy of the show's files has faults: %s", problems[0])
	}
	restored, err := engine.RestoreCheckpoint(show.Program, saved.Checkpoint)
	if err != nil {
		return err
	}
	k.Show, k.Files, k.content = show, files, saved.Content
	k.base, k.restored, k.before = base, restored, saved.Checkpoint
	k.log.Info().Str("away", away.Round(time.Millisecond).String()).Msg("the show goes on where the run before stopped")
	return nil
}

// Begin takes a show to begin with, and the archive of its files.
func (k *Kept) Begin(files fs.FS, archive []byte) (err error) {
	k.Files, k.archive = files, archive
	k.content, err = showfiles.ContentOf(files)
	return err
}

// keepIn has a loop keep its state, and go on from what was restored. A nil Kept changes
// nothing.
func (k *Kept) keepIn(c *engine.LoopConfig) {
	if k == nil {
		return
	}
	c.Origin, c.Resume = k.base.Origin(k.system), k.restored
	if k.folder != nil && k.Files != nil {
		k.keeper = resume.NewKeeper(k.folder, k.saved, k.base, k.log)
		c.Checkpoints = k.keeper
	}
}

// start keeps the show's files, and from then on its state.
func (k *Kept) start(p *engine.Program) { k.keeper.StoreShow(p, k.content, k.archive) }

// edited keeps the files of an edit that is about to be taken over.
func (k *Kept) edited(e *showfiles.Edit) {
	if e.Archive == nil {
		k.log.Warn().Msg("the edited files cannot be kept: after a crash the show would begin anew")
		return
	}
	k.keeper.StoreShow(e.Reload.Program(), e.Content, e.Archive)
}

// journalHeader adds what a replay needs of a run that goes on from a state.
func (k *Kept) journalHeader(h *journal.Header) {
	h.Content, h.Checkpoint = k.content, k.before
}

// keeps reports whether states are kept.
func (k *Kept) keeps() bool { return k != nil && k.keeper != nil }

// resumed reports whether a session goes on from a run before.
func (k *Kept) resumed() bool { return k != nil && k.restored != nil }

// keepState keeps the state until ctx ends, which begins the end of the show.
func (s *Session) keepState(ctx context.Context, group *sync.WaitGroup) {
	if !s.kept.keeps() {
		return
	}
	k := s.kept.keeper
	k.Program, k.Streams = s.loop.Program, s.outputs.AppendStreams
	group.Go(func() {
		s.kept.start(s.show.Program)
		k.Run(ctx)
	})
}
