package wholefile

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

func TestWriteFile(t *testing.T) {
	full := errors.New("disk full")
	for _, c := range []struct {
		name   string
		write  func(cancel func(), w io.Writer) error
		want   error
		now    string
		before string // "": no file
	}{
		{"new", func(_ func(), w io.Writer) error { _, err := io.WriteString(w, "new"); return err }, nil, "new", ""},
		{"over", func(_ func(), w io.Writer) error { _, err := io.WriteString(w, "new"); return err }, nil, "new", "the old file"},
		{"error", func(_ func(), w io.Writer) error { _, _ = io.WriteString(w, "ne"); return full }, full, "the old file", "the old file"},
		{"error, new", func(_ func(), w io.Writer) error { _, _ = io.WriteString(w, "ne"); return full }, full, "", ""},
		{"cancelled midway", func(cancel func(), w io.Writer) error {
			_, _ = io.WriteString(w, "ne")
			cancel()
			_, err := io.WriteString(w, "w")
			return err
		}, ErrBroken, "the old file", "the old file"},
		{"cancelled after the last byte", func(cancel func(), w io.Writer) error {
			_, err := io.WriteString(w, "new")
			cancel()
			return err
		}, ErrBroken, "the old file", "the old file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			name := filepath.Join(dir, "paper.txt")
			if c.before != "" {
				if err := os.WriteFile(name, []byte(c.before), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			err := Write(ctx, name, func(w io.Writer) error { return c.write(cancel, w) })
			if !errors.Is(err, c.want) {
				t.Errorf("error %v, want %v", err, c.want)
			}
			got, _ := os.ReadFile(name)
			if string(got) != c.now {
				t.Errorf("%q is in the file, want %q", got, c.now)
			}
			entries, _ := os.ReadDir(dir)
			if want := min(1, len(c.now)); len(entries) != want {
				t.Errorf("%d files left, want %d: %v", len(entries), want, entries)
			}
			if info, err := os.Stat(name); err == nil && c.before != "" && runtime.GOOS != "windows" && info.Mode() != 0o600 {
				t.Errorf("permissions %v, want those of the old file", info.Mode())
			}
		})
	}
}

func TestWriteFileKeepsLinks(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "file"), filepath.Join(dir, "link")
	if err := os.WriteFile(file, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(file, link); err != nil {
		t.Skip("no links here: ", err)
	}
	err := Write(t.Context(), link, func(w io.Writer) error { _, err := io.WriteString(w, "new"); return err })
	got, _ := os.ReadFile(file)
	if info, _ := os.Lstat(link); err != nil || string(got) != "new" || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("%v; %q in the file; the link is %v", err, got, info.Mode())
	}
	if err := Write(t.Context(), dir, func(io.Writer) error { return nil }); err == nil {
		t.Error("a folder was written over")
	}
}
