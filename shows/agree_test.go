package shows_test

import (
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/language"
)

const shelf = "../testdata/shows"

// folder reads a show folder into memory.
func folder(t testing.TB, dir string) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	err := filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		src, err := os.ReadFile(p)
		rel, _ := filepath.Rel(dir, p)
		files[filepath.ToSlash(rel)] = &fstest.MapFile{Data: src, Mode: 0o644}
		return err
	})
	require.NoError(t, err)
	return files
}

func cases(t testing.TB, dir string) []string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(shelf, dir, "*"))
	require.NoError(t, err, "no shows in %s (%v)", dir, err)
	require.NotEmpty(t, found, "no shows in %s (%v)", dir, err)
	return found
}

func TestGoodShows(t *testing.T) {
	compiled := schemas(t)
	for _, dir := range append(cases(t, "good"), "harbour-hall") {
		t.Run(filepath.Base(dir), func(t *testing.T) {
			files := folder(t, dir)
			show, problems := shows.Load(files, shows.Options{})
			require.NoError(t, problems.Err(), "faults in a good show")
			require.NotNil(t, show, "faults in a good show")
			for name, f := range files {
				kind, ok := language.KindOf(name)
				if !ok {
					continue
				}
				assert.NoError(t, schemaAccepts(t, compiled[kind], f.Data), "the schema refuses %s", name)
			}
		})
	}
}

// Built-in profiles are held to the same description as those of a rig.
func TestLibraryFitsSchema(t *testing.T) {
	s := schemas(t)[language.ProfileFile]
	found, err := filepath.Glob("../fixtures/library/*.yaml")
	require.NoError(t, err, "no library")
	require.NotEmpty(t, found, "no library")
	for _, name := range found {
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.NoError(t, schemaAccepts(t, s, src), name)
	}
}

var faultLine = regexp.MustCompile(`(?m)^# fault (.*)$`)

// TestBadShows lays each bad case over good/plain and wants exactly the faults
// that its files name in their last lines. The three folders differ in what a
// schema can see:
//
//	structure  the schema refuses what the loader refuses
//	reference  names, overlaps, positions: the schema accepts, the loader refuses
//	spelling   how a scalar or key is written: likewise
func TestBadShows(t *testing.T) {
	compiled := schemas(t)
	plain := folder(t, filepath.Join(shelf, "good", "plain"))
	for _, class := range []string{"structure", "reference", "spelling"} {
		for _, dir := range cases(t, filepath.Join("bad", class)) {
			t.Run(class+"/"+filepath.Base(dir), func(t *testing.T) {
				bad := folder(t, dir)
				files := fstest.MapFS{}
				for name, f := range plain {
					files[name] = f
				}
				var want []string
				for name, f := range bad {
					files[name] = f
					for _, m := range faultLine.FindAllSubmatch(f.Data, -1) {
						want = append(want, name+":"+string(m[1]))
					}
				}
				show, problems := shows.Load(files, shows.Options{})
				assert.Nil(t, show, "a bad show was compiled")
				if *update {
					rewriteFaults(t, dir, bad, problems)
					return
				}
				compareFaults(t, want, problems)
				for name, f := range bad {
					kind, ok := language.KindOf(name)
					faults := faultLine.Match(f.Data)
					if !ok || !faults {
						continue
					}
					err := schemaAccepts(t, compiled[kind], f.Data)
					if class == "structure" {
						assert.Error(t, err, "the schema accepts %s", name)
					}
					if class != "structure" {
						assert.NoError(t, err, "the schema refuses %s, so it belongs to structure", name)
					}
				}
			})
		}
	}
}

func compareFaults(t *testing.T, want []string, problems language.Problems) {
	t.Helper()
	var got []string
	for _, p := range problems {
		got = append(got, p.String())
	}
	slices.Sort(got)
	slices.Sort(want)
	for _, g := range got {
		assert.Contains(t, want, g, "unexpected fault")
	}
	for _, w := range want {
		assert.Contains(t, got, w, "missing fault")
	}
	assert.NotEmpty(t, want, "the case names no faults")
}

// rewriteFaults puts the present faults at the end of each file of a case.
func rewriteFaults(t *testing.T, dir string, bad fstest.MapFS, problems language.Problems) {
	t.Helper()
	for name, f := range bad {
		text := strings.TrimRight(faultLine.ReplaceAllString(string(f.Data), ""), "\n") + "\n"
		for _, p := range problems {
			if p.File == name {
				text += "# fault " + strings.TrimPrefix(p.String(), name+":") + "\n"
			}
		}
		require.NoError(t, os.WriteFile(path.Join(filepath.ToSlash(dir), name), []byte(text), 0o644))
	}
}
