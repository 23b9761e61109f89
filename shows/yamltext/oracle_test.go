package yamltext_test

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	goyaml "github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/token"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows/yamltext"
)

// readOf returns what a file says, read by an independent library: maps that keep their
// order, lists, and the rest.
func readOf(t require.TestingT, src string) (v any) {
	require.NoError(t, goyaml.UnmarshalWithOptions([]byte(src), &v, goyaml.UseOrderedMap()), "%s", src)
	return v
}

// commentsOf lists a file's comments, found by an independent library, with their lines.
func commentsOf(src string) (texts []string, lines []int) {
	for _, tk := range lexer.Tokenize(strings.ReplaceAll(src, "\r\n", "\n")) { // it counts some lines twice that end with both
		if tk.Type == token.CommentType {
			texts, lines = append(texts, strings.TrimRight(tk.Value, " \t\r")), append(lines, tk.Position.Line)
		}
	}
	return texts, lines
}

// changed returns a value in which f has changed the map or list that the last step of a
// path is in.
func changed(v any, p path, f func(in any, last any) any) any {
	if len(p) == 1 {
		return f(v, p[0])
	}
	switch in := v.(type) {
	case goyaml.MapSlice:
		in = slices.Clone(in)
		i := indexOf(in, p[0])
		in[i].Value = changed(in[i].Value, p[1:], f)
		return in
	case []any:
		in = slices.Clone(in)
		in[p[0].(int)] = changed(in[p[0].(int)], p[1:], f)
		return in
	}
	panic(fmt.Sprintf("%T at %v", v, p))
}

func indexOf(m goyaml.MapSlice, key any) int {
	return slices.IndexFunc(m, func(e goyaml.MapItem) bool { return fmt.Sprint(e.Key) == fmt.Sprint(key) })
}

// oracle is an edit, and what it does to the values that an independent library reads.
type oracle struct {
	name  string
	edit  func(d *yamltext.Document, p path, value string, i int) error
	apply func(in, last any, value any, i int) any
	fits  func(d *yamltext.Document, p path) bool
	loses bool // comments of what it removes
}

func isKey(_ *yamltext.Document, p path) bool  { _, ok := p[len(p)-1].(string); return ok }
func isItem(_ *yamltext.Document, p path) bool { _, ok := p[len(p)-1].(int); return ok }

func oracles() []oracle {
	type doc = yamltext.Document
	return []oracle{
		{"set", func(d *doc, p path, v string, _ int) error { return d.Set(p, v) }, func(in, last, v any, _ int) any {
			if m, ok := in.(goyaml.MapSlice); ok {
				m = slices.Clone(m)
				m[indexOf(m, last)].Value = v
				return m
			}
			l := slices.Clone(in.([]any))
			l[last.(int)] = v
			return l
		}, func(*doc, path) bool { return true }, false},
		{"rename key", func(d *doc, p path, _ string, _ int) error { return d.RenameKey(p, "é: glow") }, func(in, last, _ any, _ int) any {
			m := slices.Clone(in.(goyaml.MapSlice))
			m[indexOf(m, last)].Key = "é: glow"
			return m
		}, isKey, false},
		{"add key", func(d *doc, p path, v string, _ int) error {
			return d.AddKey(p[:len(p)-1], "new key", v, p[len(p)-1].(string))
		}, func(in, last, v any, _ int) any {
			m := in.(goyaml.MapSlice)
			return slices.Insert(slices.Clone(m), indexOf(m, last)+1, goyaml.MapItem{Key: "new key", Value: v})
		}, isKey, false},
		{"remove key", func(d *doc, p path, _ string, _ int) error { return d.RemoveKey(p) }, func(in, last, _ any, _ int) any {
			i := indexOf(in.(goyaml.MapSlice), last)
			return slices.Delete(slices.Clone(in.(goyaml.MapSlice)), i, i+1)
		}, isKey, true},
		{"insert", func(d *doc, p path, v string, i int) error { return d.Insert(p[:len(p)-1], i, v) }, func(in, _, v any, i int) any {
			return slices.Insert(slices.Clone(in.([]any)), i, v)
		}, isItem, false},
		{"remove", func(d *doc, p path, _ string, _ int) error { return d.Remove(p) }, func(in, last, _ any, _ int) any {
			return slices.Delete(slices.Clone(in.([]any)), last.(int), last.(int)+1)
		}, isItem, true},
		{"move", func(d *doc, p path, _ string, i int) error { return d.Move(p, i) }, func(in, last, _ any, i int) any {
			l := slices.Clone(in.([]any))
			item := l[last.(int)]
			return slices.Insert(slices.Delete(l, last.(int), last.(int)+1), i, item)
		}, isItem, false},
	}
}

// An edit does to the values, as an independent library reads them, just what it says; and
// the comments which that library finds are all there, but for those on the lines of what
// was removed. What is refused changes nothing. The old bytes are a file as before.
func TestEditsByAnotherReader(t *testing.T) {
	made := map[string]int{}
	files := filesToEdit(t)
	rapid.Check(t, func(t *rapid.T) {
		src := rapid.SampledFrom(files).Draw(t, "file")
		d, err := yamltext.Parse("f.yaml", []byte(src))
		require.NoError(t, err)
		for range rapid.IntRange(1, 5).Draw(t, "edits") {
			o := rapid.SampledFrom(oracles()).Draw(t, "edit")
			fitting := slices.DeleteFunc(pathsBelow(d, nil), func(p path) bool { return !o.fits(d, p) })
			if len(fitting) == 0 {
				continue
			}
			p := rapid.SampledFrom(fitting).Draw(t, "path")
			value := rapid.SampledFrom([]string{"7", "40 %", "a b", `"x: y"`, "'it''s'", "[a, b]", "{a: 1}", "none"}).Draw(t, "value")
			i := rapid.IntRange(0, d.Len(p[:len(p)-1])-1).Draw(t, "to")
			before, first, last := string(d.Bytes()), firstLine(d, p), d.Line(p)+strings.Count(d.Source(p), "\n")
			if err := o.edit(d, p, value, i); err != nil {
				require.Equal(t, before, string(d.Bytes()), "%s was refused: %v", o.name, err)
				continue
			}
			made[o.name]++
			after := string(d.Bytes())
			want := changed(readOf(t, before), p, func(in, last any) any { return o.apply(in, last, readOf(t, value), i) })
			if want := fmt.Sprintf("%#v", want); want != fmt.Sprintf("%#v", readOf(t, after)) {
				require.Fail(t, "other values", "%s of %s: %s\nof\n%s\nmade\n%s", o.name, p, value, before, after)
			}
			requireComments(t, before, after, o.loses, first, last)
		}
	})
	assert.Len(t, slices.Collect(maps.Keys(made)), len(oracles()), "each edit was made: %v", made)
}

// pathsBelow lists the paths of all values inside another.
func pathsBelow(d *yamltext.Document, p path) (list []path) {
	for i := range d.Len(p) {
		inside := append(p[:len(p):len(p)], i)
		if d.IsMapping(p) {
			inside[len(p)] = d.Keys(p)[i]
		}
		list = append(append(list, inside), pathsBelow(d, inside)...)
	}
	return list
}

// firstLine returns the line, from 1, of the key or dash that a value stands behind.
func firstLine(d *yamltext.Document, p path) int {
	last, lines := d.Line(p), strings.Split(string(d.Bytes()), "\n")
	key, ok := p[len(p)-1].(string)
	if !ok && strings.HasPrefix(d.Source(p[:len(p)-1]), "[") {
		return last
	}
	for i := last; i > 0; i-- {
		line := strings.TrimSpace(lines[i-1])
		if ok && strings.Contains(line, key) && line[0] != '#' || !ok && strings.HasPrefix(line, "-") {
			return i
		}
	}
	panic("no key or dash")
}

// requireComments requires the comments of a file after an edit. What was removed stood in
// the lines first to last.
func requireComments(t *rapid.T, before, after string, loses bool, first, last int) {
	texts, lines := commentsOf(before)
	have, _ := commentsOf(after)
	for i, text := range texts {
		at := slices.Index(have, text)
		if at >= 0 {
			have = slices.Delete(have, at, at+1)
			continue
		}
		if !loses || lines[i] < first || lines[i] > last {
			require.Fail(t, "lost comment", "%q of line %d, edit at lines %d to %d\nof\n%s\nmade\n%s", text, lines[i], first, last, before, after)
		}
	}
	require.Empty(t, have, "comments that were not there before")
}

// filesToEdit returns the demo's files and ugly ones; as they are, with carriage returns,
// and without the end of their last line.
func filesToEdit(t require.TestingT) (files []string) {
	for _, pattern := range []string{"../harbour-hall/*.yaml", "../harbour-hall/*/*.yaml", "testdata/*.yaml"} {
		names, err := filepath.Glob(pattern)
		require.NoError(t, err)
		require.NotEmpty(t, names)
		for _, name := range names {
			b, err := os.ReadFile(name)
			require.NoError(t, err)
			src := string(b)
			files = append(files, src, strings.ReplaceAll(src, "\n", "\r\n"), strings.TrimSuffix(src, "\n"))
		}
	}
	return files
}
