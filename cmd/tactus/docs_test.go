package main

import (
	"encoding/json"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/engine/commands"
	"tactus/shows/language"
)

// docs is where the documentation is, seen from here.
const docs = "../../docs"

// pagesIn returns the files of a folder by their slash paths in it.
func pagesIn(t *testing.T, folder string) map[string]string {
	t.Helper()
	pages := map[string]string{}
	require.NoError(t, filepath.WalkDir(folder, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		src, err := os.ReadFile(path)
		name, _ := filepath.Rel(folder, path)
		pages[filepath.ToSlash(name)] = string(src)
		return err
	}))
	return pages
}

// The pages that are written from the program are those that the program writes
// now: all of them, and none besides.
func TestReferenceIsCurrent(t *testing.T) {
	folder := t.TempDir()
	out, err := exec.Command("tactus", "docs", folder).CombinedOutput()
	require.NoError(t, err, "%s", out)
	want, have := pagesIn(t, folder), pagesIn(t, docs)
	require.Contains(t, want, "osc.md")
	for name, page := range want {
		assert.Equal(t, page, have[name], "docs/%s is not what the program writes; run: make docs", name)
	}
	for name := range have {
		if strings.HasPrefix(name, "reference/") {
			assert.Contains(t, want, name, "docs/%s is no page that the program writes; run: make docs", name)
		}
	}
}

// The reference has every command, address, note, journal word and file key.
func TestReferenceIsComplete(t *testing.T) {
	have := pagesIn(t, docs)
	for _, r := range commands.Table() {
		for _, word := range []string{r.Path, r.JournalWord()} {
			if word != "" && (word == r.Path || r.Kind() != 0) {
				assert.Contains(t, have["osc.md"], "| `"+word+"`", r.Name)
			}
		}
		if r.Note != 0 {
			assert.Contains(t, have["osc.md"], "| `"+r.Name+"` |", r.Name)
			assert.Contains(t, have["reference/show.md"], "| `"+r.Name+"` |", r.Name)
		}
	}
	for _, kind := range language.Kinds() {
		page := have["reference/"+string(kind)+".md"]
		for _, key := range keysOf(t, kind) {
			known := strings.Contains(page, "| `"+key+"` |") || strings.Contains(page, "| `"+key+"`, needed |")
			assert.True(t, known, "docs/reference/%s.md has no key %q", kind, key)
		}
	}
	for _, c := range newRoot().Commands() {
		_, ok := have["reference/commands/tactus_"+c.Name()+".md"]
		assert.Equal(t, !c.Hidden, ok, c.Name())
	}
}

// keysOf returns the keys that a kind of file may have anywhere, by its schema.
func keysOf(t *testing.T, kind language.Kind) (keys []string) {
	t.Helper()
	var schema any
	require.NoError(t, json.Unmarshal(language.Schema(kind), &schema))
	var visit func(v any)
	visit = func(v any) {
		switch v := v.(type) {
		case []any:
			for _, inside := range v {
				visit(inside)
			}
		case map[string]any:
			if properties, ok := v["properties"].(map[string]any); ok && v["type"] == "object" {
				for key := range properties {
					keys = append(keys, key)
				}
			}
			for _, inside := range v {
				visit(inside)
			}
		}
	}
	visit(schema)
	require.NotEmpty(t, keys)
	return keys
}

// There is a manual page for every command, in the form of man(7).
func TestManPages(t *testing.T) {
	folder := t.TempDir()
	c := exec.Command("tactus", "docs", "--man", folder)
	c.Env = append(c.Environ(), "SOURCE_DATE_EPOCH=1795737600") // 2026-11-27
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	pages := pagesIn(t, folder)
	for name, page := range pages {
		assert.Contains(t, page, `.TH "`+strings.ToUpper(strings.TrimSuffix(name, ".1"))+`" "1" "Nov 2026" "tactus"`, name)
		for _, heading := range []string{".SH NAME", ".SH SYNOPSIS"} {
			assert.Contains(t, page, heading, name)
		}
	}
	for _, c := range newRoot().Commands() {
		assert.Equal(t, !c.Hidden, pages["tactus-"+c.Name()+".1"] != "", c.Name())
	}
}
