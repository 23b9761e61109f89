package resume

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/showtest"
)

func someState(n int) Saved {
	return Saved{
		Program: "tactus 1", Show: "/srv/hall", Setup: `--set ""`, Content: "5b1c", ShortRuns: n,
		Streams: []byte{'s', 1, 0, byte(n)}, Checkpoint: bytes.Repeat([]byte{byte(n), 0, 255}, 1000+n),
	}
}

func open(t testing.TB, dir string) *Folder {
	t.Helper()
	f, err := Open(dir)
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return f
}

// The latest state is read back, by the same run and by the next.
func TestLatestStateIsRead(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made", "by it")
	f := open(t, dir)
	_, err := f.Read()
	require.ErrorIs(t, err, ErrNone)
	for n := range 7 { // shorter ones after longer ones too
		s := someState((n * 5) % 7)
		require.NoError(t, f.Write(&s))
		got, err := f.Read()
		require.NoError(t, err)
		require.Equal(t, s, got, "state %d", n)
	}
	require.NoError(t, f.Close())
	next := open(t, dir)
	got, err := next.Read()
	require.NoError(t, err)
	assert.Equal(t, someState(30%7), got)
	ended := Saved{Ended: true, Streams: []byte{1}}
	require.NoError(t, next.Write(&ended))
	got, err = next.Read()
	require.NoError(t, err)
	assert.True(t, got.Ended)
}

// Wherever a write is cut short, the state before it is whole.
func TestWriteCutShort(t *testing.T) {
	dir := t.TempDir()
	f := open(t, dir)
	first, second := someState(1), someState(2)
	require.NoError(t, f.Write(&first))
	older := f.next
	require.NoError(t, f.Write(&second))
	third := someState(3)
	file := third.appendFile(nil, f.last+1)
	path := f.stateName(f.next)
	require.NotEqual(t, older, f.next, "the older file is written next")
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	for cut := 1; cut < len(file); cut += 7 {
		torn := bytes.Clone(before)
		require.Less(t, cut, len(torn)+len(file))
		torn = append(file[:cut:cut], torn[min(cut, len(torn)):]...)
		require.NoError(t, os.WriteFile(path, torn, 0o644))
		got, err := f.Read()
		require.NoError(t, err, "cut at %d", cut)
		require.Equal(t, second, got, "cut at %d", cut)
	}
	require.NoError(t, os.WriteFile(path, file, 0o644))
	got, err := f.Read()
	require.NoError(t, err)
	assert.Equal(t, third, got, "the whole of it counts")
	for i := range 2 {
		require.NoError(t, os.WriteFile(f.stateName(i), []byte("nothing of ours"), 0o644))
	}
	_, err = f.Read()
	require.ErrorIs(t, err, ErrDamaged)
	require.NoError(t, f.Write(&first), "a damaged one is written over")
	got, err = f.Read()
	require.NoError(t, err)
	assert.Equal(t, first, got)
}

// Every single bit counts.
func TestChangedBitsAreFound(t *testing.T) {
	s := someState(1)
	s.Checkpoint = s.Checkpoint[:40]
	file := s.appendFile(nil, 9)
	_, number, err := parseFile(file)
	require.NoError(t, err)
	require.EqualValues(t, 9, number)
	for i := range len(file) * 8 {
		file[i/8] ^= 1 << (i % 8)
		_, _, err := parseFile(file)
		require.ErrorIs(t, err, ErrDamaged, "bit %d", i)
		file[i/8] ^= 1 << (i % 8)
	}
	binary.LittleEndian.PutUint64(file[offLength:], 1<<63)
	_, _, err = parseFile(file)
	require.ErrorIs(t, err, ErrDamaged)
}

func FuzzParseFile(f *testing.F) {
	s := someState(1)
	f.Add(s.appendFile(nil, 1), false)
	f.Add(s.appendFile(nil, 1)[offContent:], true)
	f.Fuzz(func(t *testing.T, b []byte, seal bool) {
		if seal { // else the checksum keeps nearly everything out
			content := b
			b = append(make([]byte, offContent), content...)
			copy(b, stateMark)
			binary.LittleEndian.PutUint64(b[offLength:], uint64(len(content)))
			binary.LittleEndian.PutUint32(b[offChecksum:], checksum(b))
		}
		s, number, err := parseFile(b)
		if err != nil {
			require.ErrorIs(t, err, ErrDamaged)
			return
		}
		again, n, err := parseFile(s.appendFile(nil, number))
		require.NoError(t, err)
		require.Equal(t, number, n)
		require.Equal(t, s, again)
	})
}

// Two runs never share the folder; the second is told.
func TestOneRunHasTheFolder(t *testing.T) {
	dir := t.TempDir()
	f := open(t, dir)
	_, err := Open(dir)
	require.ErrorIs(t, err, ErrInUse)
	require.NoError(t, f.Close())
	open(t, dir)
}

func TestArchivesAreKeptByChecksum(t *testing.T) {
	f := open(t, t.TempDir())
	archive, err := showfiles.Archive(shows.Demo(), shows.Options{})
	require.NoError(t, err)
	content, err := showfiles.ContentOf(shows.Demo())
	require.NoError(t, err)
	_, err = f.ReadArchive(content)
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NoError(t, f.WriteArchive(content, archive))
	require.NoError(t, f.WriteArchive(strings.Repeat("0", 64), archive))
	files, err := f.ReadArchive(content)
	require.NoError(t, err)
	showtest.Load(t, files)
	_, err = f.ReadArchive(strings.Repeat("0", 64))
	require.ErrorIs(t, err, ErrDamaged, "another show under that name")
	_, err = f.ReadArchive("../../etc/passwd")
	require.ErrorIs(t, err, ErrDamaged)
	f.DropArchives(content)
	_, err = f.ReadArchive(content)
	require.NoError(t, err)
	_, err = f.ReadArchive(strings.Repeat("0", 64))
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NoError(t, os.WriteFile(filepath.Join(f.dir, archiveName(content)), archive[:100], 0o644))
	_, err = f.ReadArchive(content)
	require.ErrorIs(t, err, showfiles.ErrArchive)
}

func keeper(t testing.TB, f *Folder, told *bytes.Buffer) *Keeper {
	t.Helper()
	k := NewKeeper(f, Saved{Program: "tactus 1", ShortRuns: 2}, clock.NewBase(), zerolog.New(told))
	k.Streams = func(b []byte) []byte { return append(b, 's', 1, 0, 9) }
	return k
}

// States of a program are kept once its files are, and name them.
func TestKeeperNamesTheShow(t *testing.T) {
	f := open(t, t.TempDir())
	var told bytes.Buffer
	k := keeper(t, f, &told)
	old, edited := &engine.Program{}, &engine.Program{}
	plays := old
	k.Program = func() *engine.Program { return plays }
	require.Nil(t, k.Begin(), "its files are not kept yet")
	k.StoreShow(old, "aa", []byte("old"))
	put := func(text string) Saved {
		k.Commit(append(k.Begin(), text...))
		<-k.wake
		k.writeLatest()
		s, err := f.Read()
		require.NoError(t, err)
		return s
	}
	assert.Equal(t, Saved{Program: "tactus 1", Content: "aa", ShortRuns: 2, Streams: []byte{'s', 1, 0, 9}, Checkpoint: []byte("one")}, put("one"))
	k.StoreShow(edited, "bb", []byte("edited"))
	assert.Equal(t, "aa", put("two").Content, "the old show still plays")
	plays = edited
	assert.Equal(t, "bb", put("three").Content)
	plays = &engine.Program{}
	k.Commit(append(k.Begin(), "four"...))
	assert.Empty(t, k.wake, "a show whose files are not kept")
	plays = edited
	k.StoreShow(&engine.Program{}, "cc", []byte("again"))
	_, err := os.Stat(filepath.Join(f.dir, archiveName("aa")))
	assert.ErrorIs(t, err, os.ErrNotExist, "files that no state needs")
	assert.Empty(t, told.String())
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	k.Run(ctx)
	s, err := f.Read()
	require.NoError(t, err)
	assert.True(t, s.Ended, "marked at the signal, before the goodbye")
	k.Streams = func(b []byte) []byte { return append(b, 's', 1, 0, 99) }
	k.End()
	s, err = open(t, f.dir).Read()
	require.NoError(t, err)
	assert.True(t, s.Ended)
	assert.Equal(t, []byte{'s', 1, 0, 99}, s.Streams, "the goodbye has used numbers")
}

// A run that has lasted a second no longer counts as short.
func TestShortRunsEnd(t *testing.T) {
	f := open(t, t.TempDir())
	k := keeper(t, f, &bytes.Buffer{})
	p := &engine.Program{}
	k.Program = func() *engine.Program { return p }
	k.StoreShow(p, "aa", nil)
	k.base = k.base.Shifted(longRun)
	k.Commit(append(k.Begin(), "x"...))
	k.writeLatest()
	s, err := f.Read()
	require.NoError(t, err)
	assert.Zero(t, s.ShortRuns)
}

// A disk that refuses is told once, and told again when it has recovered.
func TestDiskThatRefuses(t *testing.T) {
	f := open(t, t.TempDir())
	var told bytes.Buffer
	k := keeper(t, f, &told)
	p := &engine.Program{}
	k.Program = func() *engine.Program { return p }
	k.StoreShow(p, "aa", nil)
	put := func() {
		k.Commit(append(k.Begin(), "x"...))
		<-k.wake
		k.writeLatest()
	}
	put()
	put()
	full, err := os.OpenFile("/dev/full", os.O_RDWR, 0)
	if err != nil {
		t.Skip("no /dev/full here")
	}
	before := f.files
	f.files = [2]*os.File{full, full}
	put()
	put()
	put()
	assert.Equal(t, 1, strings.Count(told.String(), "cannot be kept"), told.String())
	assert.Contains(t, told.String(), "no space left")
	f.files = before
	require.NoError(t, full.Close())
	put()
	assert.Equal(t, 1, strings.Count(told.String(), "kept again"))
	_, err = f.Read()
	require.NoError(t, err)
}

// The loop's part allocates nothing, and does not wait for the disk.
func TestCommitAllocates(t *testing.T) {
	f := open(t, t.TempDir())
	k := keeper(t, f, &bytes.Buffer{})
	p := &engine.Program{}
	k.Program = func() *engine.Program { return p }
	k.StoreShow(p, "aa", nil)
	checkpoint := make([]byte, 100_000)
	commit := func() { k.Commit(append(k.Begin(), checkpoint...)) }
	for range 4 {
		commit()
		k.writeLatest()
	}
	assert.Zero(t, testing.AllocsPerRun(100, commit), "allocations, while the disk stands still")
}

func TestFolderThatCannotBe(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	_, err := Open(filepath.Join(file, "resume"))
	require.Error(t, err)
	assert.False(t, errors.Is(err, ErrInUse))
}
