package draft

import (
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"tactus/shows"
)

var update = flag.Bool("update", false, "rewrite the expected files")

// hall is the demo with one more song.
func hall(t testing.TB, song string) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{"songs/new.yaml": {Data: []byte(song)}}
	for _, pattern := range []string{"*.yaml", "songs/*.yaml", "sets/*.yaml"} {
		names, err := fs.Glob(shows.Demo(), pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			src, err := fs.ReadFile(shows.Demo(), name)
			if err != nil {
				t.Fatal(err)
			}
			files[name] = &fstest.MapFile{Data: src}
		}
	}
	return files
}

func drafted(t testing.TB, files fs.FS) *Draft {
	t.Helper()
	d, err := New(files, "songs/new.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Three songs as they are drafted, to be read with the eyes of someone who
// lights shows.
func TestGoldenDrafts(t *testing.T) {
	names, err := filepath.Glob("testdata/*.yaml")
	if err != nil || len(names) < 3 {
		t.Fatalf("%d songs, %v", len(names), err)
	}
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		got := drafted(t, hall(t, string(src))).Source
		golden := strings.TrimSuffix(name, ".yaml") + ".golden"
		if *update {
			if err := os.WriteFile(golden, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != string(want) {
			t.Errorf("%s differs; review it and run the test with -update.\ngot:\n%s", golden, got)
		}
		if cleared, n := Clear(got); string(cleared) != string(src) || n == 0 {
			t.Errorf("%s: %d lines cleared leave\n%s", name, n, cleared)
		}
	}
}

// rowAt returns what a draft says of a place.
func rowAt(t testing.TB, d *Draft, at string) Row {
	t.Helper()
	i := slices.IndexFunc(d.Rows, func(r Row) bool { return r.At == at })
	if i < 0 {
		t.Fatalf("nothing at %q in %v", at, d.Rows)
	}
	return d.Rows[i]
}

func hasRow(d *Draft, at string) bool {
	return slices.ContainsFunc(d.Rows, func(r Row) bool { return r.At == at })
}
