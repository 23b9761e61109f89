package showfiles

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/showtest"
)

func archiveOf(t testing.TB, files fs.FS) []byte {
	t.Helper()
	b, err := Archive(files, shows.Options{})
	require.NoError(t, err)
	return b
}

// A show loaded from its archive is the same show, with the same checksum.
func TestArchiveHoldsTheSameShow(t *testing.T) {
	for _, name := range []string{Demo, "../../../testdata/shows/daw", "../../../testdata/shows/good/everything"} {
		t.Run(filepath.Base(name), func(t *testing.T) {
			files, err := Open(name)
			require.NoError(t, err)
			packed := archiveOf(t, files)
			require.Equal(t, packed, archiveOf(t, files), "equal files make equal bytes")
			again, err := OpenArchive(packed)
			require.NoError(t, err)
			want, err := Content(name)
			require.NoError(t, err)
			got, err := ContentOf(again)
			require.NoError(t, err)
			assert.Equal(t, want, got, "checksum of the folder and of the archive")
			assert.Equal(t, packed, archiveOf(t, again), "an archive of the archive")
			a, b := showtest.Load(t, files), showtest.Load(t, again)
			assert.True(t, reflect.DeepEqual(a.Program, b.Program), "the programs differ")
			assert.Equal(t, a.Outputs, b.Outputs)
			assert.Equal(t, a.Files, b.Files)
		})
	}
}

// Only what the show is made of goes in: a link's target, no notes and no MIDI file.
// Replaced and missing files are as the options say.
func TestArchiveHoldsOnlyTheShow(t *testing.T) {
	f := showtest.NewFolder(t, "../../../testdata/shows/daw")
	f.Write("notes.txt", "who brings the cables")
	require.NoError(t, os.MkdirAll(filepath.Join(f.Dir, "recordings"), 0o755))
	f.Write("recordings/private.yaml", "a: b")
	require.NoError(t, os.Mkdir(filepath.Join(f.Dir, "elsewhere"), 0o755))
	require.NoError(t, os.Rename(filepath.Join(f.Dir, "looks.yaml"), filepath.Join(f.Dir, "elsewhere", "looks.yaml")))
	require.NoError(t, os.Symlink("elsewhere/looks.yaml", filepath.Join(f.Dir, "looks.yaml")))
	files, err := Open(f.Dir)
	require.NoError(t, err)
	packed, err := Archive(files, shows.Options{Instead: map[string][]byte{"songs/first.yaml": []byte("song: Other")}, Without: []string{"songs/second.yaml"}})
	require.NoError(t, err)
	again, err := OpenArchive(packed)
	require.NoError(t, err)
	var names []string
	require.NoError(t, fs.WalkDir(again, ".", func(at string, d fs.DirEntry, err error) error {
		if !d.IsDir() {
			names = append(names, at)
		}
		return err
	}))
	assert.Equal(t, []string{"looks.yaml", "rig.yaml", "sets/bench.yaml", "show.yaml", "songs/first.yaml"}, names)
	song, err := fs.ReadFile(again, "songs/first.yaml")
	require.NoError(t, err)
	assert.Equal(t, "song: Other", string(song))
	looks, err := fs.ReadFile(again, "looks.yaml")
	require.NoError(t, err)
	assert.Equal(t, f.Read("elsewhere/looks.yaml"), string(looks), "what a link leads to")
}

func TestArchiveRefusesAShowThatIsTooLarge(t *testing.T) {
	files := fstest.MapFS{}
	for i := range 17 {
		src := bytes.Repeat([]byte("# still water\n"), language.MaxFileBytes/14)
		files[fmt.Sprintf("songs/%02d.yaml", i)] = &fstest.MapFile{Data: src}
	}
	_, err := Archive(files, shows.Options{})
	require.ErrorContains(t, err, "too large")
	files = fstest.MapFS{"songs/large.yaml": {Data: make([]byte, language.MaxFileBytes+1)}}
	_, err = Archive(files, shows.Options{})
	require.ErrorContains(t, err, "songs/large.yaml")
}

// entry is a file of an archive that a test makes by hand.
type entry struct {
	name string
	mode fs.FileMode
	src  string
}

// zipped packs files whatever they are called, with a checksum of all of them.
func zipped(t testing.TB, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	sources := map[string][]byte{}
	for _, e := range entries {
		h := &zip.FileHeader{Name: e.name, Method: zip.Deflate}
		h.SetMode(e.mode)
		w, err := z.CreateHeader(h)
		require.NoError(t, err)
		if !strings.HasSuffix(e.name, "/") {
			_, err = w.Write([]byte(e.src))
			require.NoError(t, err)
		}
		sources[e.name] = []byte(e.src)
	}
	require.NoError(t, z.SetComment(archiveMark+contentOfSources(sources)))
	require.NoError(t, z.Close())
	return b.Bytes()
}

func TestOpenArchiveRefusesWhatIsNotAShow(t *testing.T) {
	good := entry{"show.yaml", 0o644, "show: Hall\n"}
	_, err := OpenArchive(zipped(t, good))
	require.NoError(t, err, "the bad ones differ from this")
	packed := zipped(t, good)
	flipped := bytes.Clone(packed)
	flipped[len(flipped)-1] ^= 1
	longer := zipped(t, entry{"show.yaml", 0o644, strings.Repeat("# x\n", language.MaxFileBytes/4)}, good)
	many := make([]entry, maxArchiveFiles+1)
	for i := range many {
		many[i] = entry{fmt.Sprintf("songs/%d.yaml", i), 0o644, ""}
	}
	full := make([]entry, maxUnpackedBytes/language.MaxFileBytes+1)
	for i := range full {
		full[i] = entry{fmt.Sprintf("songs/%d.yaml", i), 0o644, strings.Repeat("# x\n", language.MaxFileBytes/4)}
	}
	for _, c := range []struct {
		what, wants string
		archive     []byte
	}{
		{"nothing", "not a valid zip", nil},
		{"text", "not a valid zip", []byte("show: Hall\n")},
		{"cut short", "not a valid zip", packed[:len(packed)-4]},
		{"another checksum", "checksum", flipped},
		{"the parent folder", "not a file of a show", zipped(t, entry{"../show.yaml", 0o644, "x"})},
		{"out and in again", "not a file of a show", zipped(t, entry{"songs/../../songs/a.yaml", 0o644, "x"})},
		{"a name with two spellings", "not a file of a show", zipped(t, entry{"songs/./a.yaml", 0o644, "x"})},
		{"an absolute path", "not a file of a show", zipped(t, entry{"/show.yaml", 0o644, "x"})},
		{"a drive", "not a file of a show", zipped(t, entry{`C:\show.yaml`, 0o644, "x"})},
		{"backslashes", "not a file of a show", zipped(t, entry{`songs\..\..\a.yaml`, 0o644, "x"})},
		{"a program", "not a file of a show", zipped(t, good, entry{"run.sh", 0o755, "x"})},
		{"a folder", "not a file of a show", zipped(t, good, entry{"songs/", fs.ModeDir | 0o755, ""})},
		{"a link", "not a plain file", zipped(t, good, entry{"looks.yaml", fs.ModeSymlink | 0o777, "/etc/passwd"})},
		{"a device", "not a plain file", zipped(t, good, entry{"looks.yaml", fs.ModeDevice | 0o666, ""})},
		{"a file twice", "twice", zipped(t, good, good)},
		{"a file too large", "at most", zipped(t, entry{"show.yaml", 0o644, strings.Repeat("# x\n", language.MaxFileBytes/4) + "\n"})},
		{"too much in all", "at most", zipped(t, full...)},
		{"a size that is a lie", "show.yaml", lying(t, longer)},
		{"too many files", "4097 files", zipped(t, many...)},
		{"too large as it comes", "at most", make([]byte, MaxArchiveBytes+1)},
	} {
		files, err := OpenArchive(c.archive)
		assert.ErrorIs(t, err, ErrArchive, c.what)
		assert.ErrorContains(t, err, c.wants, c.what)
		assert.Nil(t, files, c.what)
	}
}

// lying says in the directory at an archive's end that its first file is small.
func lying(t testing.TB, archive []byte) []byte {
	t.Helper()
	at := bytes.Index(archive, []byte("PK\x01\x02")) // APPNOTE 4.3.12: uncompressed size at 24
	require.Positive(t, at)
	copy(archive[at+24:], []byte{8, 0, 0, 0})
	return archive
}

// Whatever the bytes are, what is accepted holds files of a show within the bounds, and
// is packed again into the same files.
func FuzzOpenArchive(f *testing.F) {
	packed := archiveOf(f, shows.Demo())
	f.Add(packed)
	f.Add(packed[:len(packed)/2])
	f.Add(zipped(f, entry{"show.yaml", 0o644, "show: Hall\n"}))
	f.Add(zipped(f, entry{"../show.yaml", 0o644, "x"}))
	f.Fuzz(func(t *testing.T, b []byte) {
		files, err := OpenArchive(b)
		if err != nil {
			require.ErrorIs(t, err, ErrArchive)
			return
		}
		sources, problems := shows.SourceFiles(files, shows.Options{})
		require.Empty(t, problems)
		want, err := ContentOf(files)
		require.NoError(t, err)
		require.Equal(t, want, contentOfSources(sources))
		again, err := OpenArchive(archiveOf(t, files))
		require.NoError(t, err)
		got, err := ContentOf(again)
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}
