package live

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
)

// fakeDisk counts, and refuses when it is told to.
type fakeDisk struct {
	bytes.Buffer
	syncs, closes int
	fail          error
}

func (d *fakeDisk) Write(b []byte) (int, error) {
	if d.fail != nil {
		return 0, d.fail
	}
	return d.Buffer.Write(b)
}
func (d *fakeDisk) Sync() error  { d.syncs++; return d.fail }
func (d *fakeDisk) Close() error { d.closes++; return d.fail }

// record notes ten seconds of frames, each once the one before is taken, and
// closes.
func (j *journalFile) record() { j.recordSome(440) }

func (j *journalFile) recordSome(frames int) {
	for n := range frames {
		j.note(&engine.Record{Kind: engine.Framed, At: clock.Time(n) * clock.Second / 44, Frame: uint64(n)})
		for len(j.Records()) > 0 {
		}
	}
	j.close()
}

// All of it is on the disk in the end, which was made to keep it once a second.
func TestJournalSyncsOnceASecond(t *testing.T) {
	var log bytes.Buffer
	d := &fakeDisk{}
	startJournal(d, &journal.Header{}, zerolog.New(&log)).record()
	if d.syncs < 9 || d.syncs > 11 || d.closes != 1 {
		t.Errorf("%d syncs in ten seconds, closed %d times", d.syncs, d.closes)
	}
	if n := strings.Count(d.String(), " frame "); n != 440 || log.Len() > 0 {
		t.Errorf("%d frames written; log: %s", n, &log)
	}
}

// A disk that refuses, and one that fills up, end the journal and are told once;
// the show is never held up.
func TestJournalGivesUpOnADisk(t *testing.T) {
	var log bytes.Buffer
	startJournal(&fakeDisk{fail: errors.New("no space left")}, &journal.Header{}, zerolog.New(&log)).record()
	if text := log.String(); strings.Count(text, "\n") != 1 || !strings.Contains(text, "no space left") {
		t.Errorf("refused: %s", text)
	}
	log.Reset()
	d := &fakeDisk{}
	j := startJournal(d, &journal.Header{}, zerolog.New(&log))
	j.size = journalBytes - 200
	j.recordSome(4 * journalWrite / 31) // a line of a frame is about 31 bytes
	// It is full after the write that passes the limit, and a write is that long at most.
	if text := log.String(); strings.Count(text, "\n") != 1 || !strings.Contains(text, "full") || d.Len() > 200+journalWrite+100 {
		t.Errorf("full: %d bytes, %s", d.Len(), text)
	}
	if _, err := journal.NewReader(bytes.NewReader(d.Bytes())); err != nil || !bytes.HasSuffix(d.Bytes(), []byte("\n")) {
		t.Errorf("full: %v", err)
	}
	(*journalFile)(nil).note(&engine.Record{})
	(*journalFile)(nil).close()
}

// Earlier journals move on by one, the sixth goes, and none is written over.
func TestJournalsBeforeAreKept(t *testing.T) {
	name := filepath.Join(t.TempDir(), "night")
	for run := range 8 {
		j, err := openJournal(name, &journal.Header{Set: strconv.Itoa(run)}, zerolog.Nop())
		if err != nil {
			t.Fatal(err)
		}
		j.close()
	}
	for _, c := range []struct{ name, set string }{
		{name, "7"}, {name + ".1", "6"}, {name + ".2", "5"}, {name + ".3", "4"}, {name + ".4", "3"}, {name + ".5", "2"},
	} {
		src, err := os.ReadFile(c.name)
		if err != nil || !strings.Contains(string(src), "set \""+c.set+"\"\n") {
			t.Errorf("%s: %v\n%s, want the run %s", c.name, err, src, c.set)
		}
	}
	if _, err := os.Stat(name + ".6"); err == nil {
		t.Error("a sixth is kept")
	}
}
