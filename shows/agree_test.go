package shows

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
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func cases(t testing.TB, dir string) []string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(shelf, dir, "*"))
	if err != nil || len(found) == 0 {
		t.Fatalf("no shows in %s (%v)", dir, err)
	}
	return found
}

func TestGoodShows(t *testing.T) {
	compiled := schemas(t)
	for _, dir := range append(cases(t, "good"), "harbour-hall") {
		t.Run(filepath.Base(dir), func(t *testing.T) {
			files := folder(t, dir)
			show, problems := Load(files, Options{})
			if problems.Err() != nil || show == nil {
				t.Fatalf("faults in a good show:\n%v", problems)
			}
			for name, f := range files {
				kind, ok := language.KindOf(name)
				if !ok {
					continue
				}
				if err := schemaAccepts(t, compiled[kind], f.Data); err != nil {
					t.Errorf("the schema refuses %s: %v", name, err)
				}
			}
		})
	}
}

// Built-in profiles are held to the same description as those of a rig.
func TestLibraryFitsSchema(t *testing.T) {
	s := schemas(t)[language.ProfileFile]
	found, err := filepath.Glob("../fixtures/library/*.yaml")
	if err != nil || len(found) == 0 {
		t.Fatal("no library", err)
	}
	for _, name := range found {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := schemaAccepts(t, s, src); err != nil {
			t.Errorf("%s: %v", name, err)
		}
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
				show, problems := Load(files, Options{})
				if show != nil {
					t.Error("a bad show was compiled")
				}
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
					if class == "structure" && err == nil {
						t.Errorf("the schema accepts %s", name)
					}
					if class != "structure" && err != nil {
						t.Errorf("the schema refuses %s, so it belongs to structure: %v", name, err)
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
		if !slices.Contains(want, g) {
			t.Errorf("unexpected fault:\n  %s", g)
		}
	}
	for _, w := range want {
		if !slices.Contains(got, w) {
			t.Errorf("missing fault:\n  %s", w)
		}
	}
	if len(want) == 0 {
		t.Error("the case names no faults")
	}
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
		if err := os.WriteFile(path.Join(filepath.ToSlash(dir), name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
