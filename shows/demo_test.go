package shows

import (
	"io/fs"
	"path"
	"strings"
	"testing"

	"tactus/shows/language"
)

func TestDemoLoads(t *testing.T) {
	show, problems := Load(Demo(), Options{})
	if err := problems.Err(); err != nil {
		t.Fatalf("the demo has faults:\n%v", err)
	}
	if got := len(show.Program.Heads); got != 16 {
		t.Errorf("the demo has %d heads, want 16", got)
	}
	if got := len(show.Program.Songs); got != 3 {
		t.Errorf("the demo has %d songs, want 3", got)
	}
}

// Each file of the demo points an editor to its schema, which is there too.
func TestDemoPointsToSchemas(t *testing.T) {
	const lead = "# yaml-language-server: $schema="
	for name, f := range folder(t, "harbour-hall") {
		kind, ok := language.KindOf(name)
		if !ok {
			continue
		}
		first, _, _ := strings.Cut(string(f.Data), "\n")
		at := path.Join(path.Dir(name), strings.TrimPrefix(first, lead))
		if !strings.HasPrefix(first, lead) || path.Base(at) != string(kind)+".schema.json" {
			t.Errorf("%s starts with %q", name, first)
		}
		if _, err := fs.Stat(Demo(), at); err != nil {
			t.Errorf("%s points to %s: %v", name, at, err)
		}
	}
}
