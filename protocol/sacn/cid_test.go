package sacn

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/uuid"
)

func TestCIDIsStable(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state", "cid")
	first, err := LoadCID(path)
	if err != nil {
		t.Fatal(err)
	}
	again, err := LoadCID(path)
	if err != nil || again != first {
		t.Errorf("second start: %x, %v; first %x", again, err, first)
	}
	// An independent reader of RFC 4122 agrees with the file's text.
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	id, err := uuid.Parse(strings.TrimSpace(string(text)))
	if err != nil || [16]byte(id) != first || id.Version() != 4 || id.Variant() != uuid.RFC4122 {
		t.Errorf("file holds %q: %v", text, err)
	}
	files, _ := os.ReadDir(filepath.Dir(path))
	if len(files) != 1 {
		t.Errorf("left behind: %v", files)
	}
	other, err := LoadCID(filepath.Join(t.TempDir(), "cid"))
	if err != nil || other == first {
		t.Errorf("two installations share %x, %v", other, err)
	}
}

// A state file that is no good gives a warning and a CID for this run.
func TestCIDWithoutState(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	file := write("file", "")
	for what, path := range map[string]string{
		"empty":          file,
		"garbled":        write("garbled", "not a UUID\n"),
		"half":           write("half", "f81d4fae-7dec-11d0-a765"),
		"nil UUID":       write("nil", "00000000-0000-0000-0000-000000000000"),
		"extra dash":     write("dash", "f81d4fae-7dec-11d0-a765-00a0c91e6b-6"),
		"a folder":       dir,
		"below a file":   filepath.Join(file, "cid"),
		"in no fs":       "/proc/nowhere/cid",
		"path with zero": "a\x00b",
	} {
		before, _ := os.ReadFile(path)
		cid, err := LoadCID(path)
		if err == nil || !strings.HasPrefix(err.Error(), "sacn: ") {
			t.Errorf("%s: error %v", what, err)
		}
		if id := uuid.UUID(cid); id.Version() != 4 {
			t.Errorf("%s: no usable CID: %s", what, id)
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s: the file was changed", what)
		}
	}
}
