package live

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
)

// Bounds of a journal. An hour takes about 10 MB.
const (
	journalQueue = 8192      // records: a minute and a half that a disk may stall
	journalBytes = 256 << 20 // a day; then it ends, for a replay needs its beginning
	journalKept  = 5         // of earlier runs, as FILE.1 to FILE.5
	journalWrite = 64 << 10  // at a time
)

// journalFile writes what the loop records, on a goroutine of its own.
type journalFile struct {
	*engine.Journal
	disk   disk
	log    zerolog.Logger
	buf    []byte
	size   int
	synced clock.Time
	over   bool // full, or the disk refused
	done   chan struct{}
}

// disk is the part of a file that a journal needs.
type disk interface {
	Write(b []byte) (int, error)
	Sync() error
	Close() error
}

// openJournal begins a journal. What was there before is kept under the names
// FILE.1, FILE.2 and so on: nothing is ever written over.
func openJournal(name string, h *journal.Header, log zerolog.Logger) (*journalFile, error) {
	if err := keepEarlier(name); err != nil {
		return nil, fmt.Errorf("journal: %w", err)
	}
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_APPEND|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, fmt.Errorf("journal: %w", err)
	}
	return startJournal(file, h, log), nil
}

func startJournal(d disk, h *journal.Header, log zerolog.Logger) *journalFile {
	j := &journalFile{
		Journal: engine.NewJournal(journalQueue), disk: d, log: log, buf: h.AppendTo(nil), done: make(chan struct{}),
	}
	go j.write()
	return j
}

// keepEarlier renames an earlier journal and those before it; the oldest goes.
func keepEarlier(name string) error {
	info, err := os.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case !info.Mode().IsRegular():
		return fmt.Errorf("%q is not a plain file", name)
	}
	for n := journalKept; n > 0; n-- {
		from := fmt.Sprintf("%s.%d", name, n-1)
		if n == 1 {
			from = name
		}
		if err := os.Rename(from, fmt.Sprintf("%s.%d", name, n)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// write writes records as they come, and syncs the disk at most once a second by the
// records' own time.
func (j *journalFile) write() {
	defer close(j.done)
	records := j.Records()
	for r := range records {
		if j.over {
			continue
		}
		j.buf = journal.AppendRecord(j.buf, &r)
		if len(records) == 0 || len(j.buf) >= journalWrite {
			j.flush()
		}
		if r.At >= j.synced+clock.Second {
			j.synced = r.At
			j.fail(j.disk.Sync())
		}
	}
	j.flush()
	j.fail(j.disk.Sync())
	j.fail(j.disk.Close())
}

func (j *journalFile) flush() {
	if j.over {
		return
	}
	n, err := j.disk.Write(j.buf)
	j.size += n
	j.buf = j.buf[:0]
	j.fail(err)
	if j.size >= journalBytes {
		j.over = true
		j.log.Warn().Int("bytes", j.size).Msg("the journal is full and ends here; the show goes on")
	}
}

// fail ends the journal at an error; the show goes on without it.
func (j *journalFile) fail(err error) {
	if err != nil && !j.over {
		j.over = true
		j.log.Error().Err(err).Msg("the journal ends here; the show goes on")
	}
}

// addRecord records what the loop does not know of. A nil journal takes nothing.
func (j *journalFile) addRecord(r *engine.Record) {
	if j != nil {
		j.Append(r)
	}
}

// close waits until all of the journal is on the disk.
func (j *journalFile) close() {
	if j != nil {
		j.Close()
		<-j.done
	}
}
