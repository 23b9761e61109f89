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
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
		j.addRecord(&engine.Record{Kind: engine.RecordFrame, At: clock.Time(n) * clock.Second / 44, Frame: uint64(n)})
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
	assert.GreaterOrEqual(t, d.syncs, 9)
	assert.LessOrEqual(t, d.syncs, 11)
	assert.Equal(t, 1, d.closes)
	assert.Equal(t, 440, strings.Count(d.String(), " frame "), "log: %s", &log)
	assert.Zero(t, log.Len(), "log: %s", &log)
}

// A disk that refuses, and one that fills up, end the journal and are told once;
// the show is never held up.
func TestJournalGivesUpOnADisk(t *testing.T) {
	var log bytes.Buffer
	startJournal(&fakeDisk{fail: errors.New("no space left")}, &journal.Header{}, zerolog.New(&log)).record()
	text := log.String()
	assert.Equal(t, 1, strings.Count(text, "\n"), "refused")
	assert.Contains(t, text, "no space left", "refused")
	log.Reset()
	d := &fakeDisk{}
	j := startJournal(d, &journal.Header{}, zerolog.New(&log))
	j.size = journalBytes - 200
	j.recordSome(4 * journalWrite / 31) // a line of a frame is about 31 bytes
	// It is full after the write that passes the limit, and a write is that long at most.
	text = log.String()
	assert.Equal(t, 1, strings.Count(text, "\n"), "full")
	assert.Contains(t, text, "full", "full")
	assert.LessOrEqual(t, d.Len(), 200+journalWrite+100, "full")
	if _, err := journal.NewReader(bytes.NewReader(d.Bytes())); assert.NoError(t, err, "full") {
		assert.True(t, bytes.HasSuffix(d.Bytes(), []byte("\n")), "full")
	}
	(*journalFile)(nil).addRecord(&engine.Record{})
	(*journalFile)(nil).close()
}

// Earlier journals move on by one, the sixth goes, and none is written over.
func TestJournalsBeforeAreKept(t *testing.T) {
	name := filepath.Join(t.TempDir(), "night")
	for run := range 8 {
		j, err := openJournal(name, &journal.Header{Set: strconv.Itoa(run)}, zerolog.Nop())
		require.NoError(t, err)
		j.close()
	}
	for _, c := range []struct{ name, set string }{
		{name, "7"}, {name + ".1", "6"}, {name + ".2", "5"}, {name + ".3", "4"}, {name + ".4", "3"}, {name + ".5", "2"},
	} {
		src, err := os.ReadFile(c.name)
		assert.NoError(t, err, c.name)
		assert.Contains(t, string(src), "set \""+c.set+"\"\n", c.name)
	}
	_, err := os.Stat(name + ".6")
	assert.Error(t, err, "a sixth is kept")
}
