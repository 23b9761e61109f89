package yamltext_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	goyaml "github.com/goccy/go-yaml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/shows/yamltext"
)

type path = yamltext.Path

// edit is an edit for the tables below.
type edit func(d *yamltext.Document) error

func set(value string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.Set(p, value) }
}

func text(value string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.SetText(p, value) }
}

func rename(to string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.RenameKey(p, to) }
}

func add(key, value, after string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.AddKey(p, key, value, after) }
}

func addList(key, after string, items []string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.AddList(p, key, items, after) }
}

func addBlock(key, value, after string, lines []string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.AddBlock(p, key, value, lines, after) }
}

func copied(to string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.CopyKey(p, to) }
}
func without(p ...any) edit { return func(d *yamltext.Document) error { return d.RemoveKey(p) } }
func insert(i int, value string, p ...any) edit {
	return func(d *yamltext.Document) error { return d.Insert(p, i, value) }
}
func remove(p ...any) edit { return func(d *yamltext.Document) error { return d.Remove(p) } }
func move(to int, p ...any) edit {
	return func(d *yamltext.Document) error { return d.Move(p, to) }
}

// Each edit touches what it names, however the file is written.
func TestEdits(t *testing.T) {
	for name, c := range map[string]struct {
		src  string
		edit edit
		want string // the file after it
	}{
		"a plain value":                     {"a: 1  # one\nb: 2\n", set("7", "a"), "a: 7  # one\nb: 2\n"},
		"a text of several words":           {"a: one two   # c\n", set("40 %", "a"), "a: 40 %   # c\n"},
		"a tab before the comment":          {"a: one\t# c\n", set("two", "a"), "a: two\t# c\n"},
		"no end of the last line":           {"b: 2\na: 1", set("7", "a"), "b: 2\na: 7"},
		"carriage returns":                  {"a: 1\r\nb: 2\r\n", set("7", "a"), "a: 7\r\nb: 2\r\n"},
		"a byte order mark":                 {"\ufeffa: 1\n", set("7", "a"), "\ufeffa: 7\n"},
		"after a document marker":           {"---\na: 1\n...\n", set("7", "a"), "---\na: 7\n...\n"},
		"letters beyond ASCII before it":    {"{ä: 'ö', b: 1}\n", set("7", "b"), "{ä: 'ö', b: 7}\n"},
		"an empty value":                    {"a:\nb: 2\n", set("7", "a"), "a: 7\nb: 2\n"},
		"an empty value with a comment":     {"a: # c\nb: 2\n", set("7", "a"), "a: 7 # c\nb: 2\n"},
		"a text over two lines":             {"a: one\n  two\nb: 2\n", set("7", "a"), "a: 7\nb: 2\n"},
		"a block text":                      {"a: |\n  one\n\n  two\nb: 2\n", set("7", "a"), "a: 7\nb: 2\n"},
		"a block text at the end":           {"b: 2\na: >-\n  one\n  two\n\n", set("7", "a"), "b: 2\na: 7\n\n"},
		"single quotes stay":                {"a: 'it''s' # c\n", text("that's", "a"), "a: 'that''s' # c\n"},
		"double quotes stay":                {`a: "x\"}" # c` + "\n", text("y", "a"), `a: "y" # c` + "\n"},
		"quotes where they are needed":      {"a: x\n", text("b: c", "a"), "a: \"b: c\"\n"},
		"a comma stays without quotes":      {"a: x, y\n", text("z, y", "a"), "a: z, y\n"},
		"a comma inside braces":             {"{a: x}\n", text("z, y", "a"), "{a: \"z, y\"}\n"},
		"a word that YAML reads as no text": {"a: x\n", text("yes", "a"), "a: \"yes\"\n"},
		"inside braces":                     {"s:\n  - chorus: {bars: 8, energy: 6, look: \"a, b\"}  # c\n", set("9", "s", 0, "chorus", "energy"), "s:\n  - chorus: {bars: 8, energy: 9, look: \"a, b\"}  # c\n"},
		"braces over lines":                 {"a: {\n  b: 1, # one\n  c: 2\n}\n", set("7", "a", "c"), "a: {\n  b: 1, # one\n  c: 7\n}\n"},
		"an apostrophe that is no quote":    {"{a: it's, b: 'x', c: 1}\n", set("7", "c"), "{a: it's, b: 'x', c: 7}\n"},
		"a list in braces":                  {"{a: [x, y], b: 1}\n", set("[z]", "a"), "{a: [z], b: 1}\n"},
		"a list over lines":                 {"a:\n  - x\n  - y\nb: 1\n", set("[z]", "a"), "a: [z]\nb: 1\n"},
		"braces become a text":              {"a: {b: 1}\n", set("none", "a"), "a: none\n"},
		"a key":                             {"looks:\n  embers: {fade: 1 s}\n", rename("glow", "looks", "embers"), "looks:\n  glow: {fade: 1 s}\n"},
		"a key in quotes":                   {"\"a b\": 1\n", rename("c d", "a b"), "\"c d\": 1\n"},
		"a new key in braces":               {"a: {b: 1} # c\n", add("d", "2 s", "", "a"), "a: {b: 1, d: 2 s} # c\n"},
		"a new key behind another":          {"a: {b: 1, c: 2}\n", add("d", "3", "b", "a"), "a: {b: 1, d: 3, c: 2}\n"},
		"a new key in empty braces":         {"a: {}\n", add("d", "3", "", "a"), "a: {d: 3}\n"},
		"a new key on a line":               {"a:\n    b: 1 # c\nd: 2\n", add("e", "3", "", "a"), "a:\n    b: 1 # c\n    e: 3\nd: 2\n"},
		"a new key below lines":             {"a:\n  b:\n    - x\n    - y # c\n\nd: 2\n", add("e", "3", "b", "a"), "a:\n  b:\n    - x\n    - y # c\n  e: 3\n\nd: 2\n"},
		"a new key of an item":              {"l:\n  - at: x\n    look: y\n", add("fade", "1 s", "at", "l", 0), "l:\n  - at: x\n    fade: 1 s\n    look: y\n"},
		"a new key at the very end":         {"a: 1", add("b", "2", ""), "a: 1\nb: 2"},
		"a new key, carriage returns":       {"a: 1\r\nc: 3\r\n", add("b", "2", "a"), "a: 1\r\nb: 2\r\nc: 3\r\n"},
		"a new key that needs quotes":       {"a: 1\n", add("b: c", "2", ""), "a: 1\n\"b: c\": 2\n"},
		"new lines":                         {"a:\r\n  b: 1 # c\r\n\r\nd: 2\r\n", addBlock("e", "{f: 3, g: {h: 4}}", "b", []string{"f: 3", "g:", "  h: 4"}, "a"), "a:\r\n  b: 1 # c\r\n  e:\r\n    f: 3\r\n    g:\r\n      h: 4\r\n\r\nd: 2\r\n"},
		"new lines at the very end":         {"a:\n  b: 1", addBlock("e", "{f: 3}", "", []string{"f: 3"}, "a"), "a:\n  b: 1\n  e:\n    f: 3"},
		"new lines in braces":               {"a: {b: 1}\n", addBlock("e", "{f: 3}", "", []string{"f: 3"}, "a"), "a: {b: 1, e: {f: 3}}\n"},
		"a new list":                        {"a:\r\n  - x\r\nb: 2\r\n", addList("c", "a", []string{"{y: 1}", "z"}), "a:\r\n  - x\r\n\r\nc:\r\n  - {y: 1}\r\n  - z\r\nb: 2\r\n"},
		"a new list in braces":              {"{a: 1}\n", addList("c", "a", []string{"y", "z"}), "{a: 1, c: [y, z]}\n"},
		"a new list at the very end":        {"a: 1", addList("c", "a", []string{"y"}), "a: 1\n\nc:\n  - y"},
		"a copy":                            {"looks:\n  a: # one\n    fade: 1 s # two\n  b: 1\n", copied("c", "looks", "a"), "looks:\n  a: # one\n    fade: 1 s # two\n  c: # one\n    fade: 1 s\n  b: 1\n"},
		"a key less":                        {"a: 1\n# above\nb: 2 # c\nc: 3\n", without("b"), "a: 1\n# above\nc: 3\n"},
		"the last key less":                 {"a: 1\nb: 2", without("b"), "a: 1"},
		"the first key in braces less":      {"{a: 1, b: 2}\n", without("a"), "{b: 2}\n"},
		"the last key in braces less":       {"{a: 1, b: [x, y]}\n", without("b"), "{a: 1}\n"},
		"the only key in braces less":       {"a: {b: 1}\n", without("a", "b"), "a: {}\n"},
		"the key behind a dash less":        {"l:\n  - at: x\n    look: y\n", without("l", 0, "at"), "l:\n  - look: y\n"},
		"a key with lines of its own less":  {"a: 1\nb:\n  - x\n  - y\n\n# c\nc: 3\n", without("b"), "a: 1\n\n# c\nc: 3\n"},
		"an item in brackets":               {"a: [x, y]\n", insert(1, "z", "a"), "a: [x, z, y]\n"},
		"a first item in brackets":          {"a: [x, y]\n", insert(0, "z", "a"), "a: [z, x, y]\n"},
		"an item in empty brackets":         {"a: []\n", insert(0, "z", "a"), "a: [z]\n"},
		"an item on a line":                 {"a:\n  # one\n  - x # c\n  # two\n  - y\n", insert(1, "{z: 1}", "a"), "a:\n  # one\n  - x # c\n  - z: 1\n  # two\n  - y\n"},
		"a first item on a line":            {"a:\n  # one\n  - x\n", insert(0, "z", "a"), "a:\n  - z\n  # one\n  - x\n"},
		"a last item on a line":             {"a:\n- x\n- y\n\nb: 1\n", insert(2, "z", "a"), "a:\n- x\n- y\n- z\n\nb: 1\n"},
		"an item less":                      {"a:\n  - x\n  - y # c\n  - z\n", remove("a", 1), "a:\n  - x\n  - z\n"},
		"the last item less":                {"a:\n  - x\n  - y: 1\n    z: 2", remove("a", 1), "a:\n  - x"},
		"an item in brackets less":          {"a: [x, y, z]\n", remove("a", 1), "a: [x, z]\n"},
		"an item to the front":              {"a:\n  - x # 1\n\n  # of y\n  - y: 1\n    z: 2\n  - w", move(0, "a", 1), "a:\n  # of y\n  - y: 1\n    z: 2\n\n  - x # 1\n  - w"},
		"an item to the end":                {"a:\n  - x # 1\n  - y\n  - w", move(2, "a", 0), "a:\n  - y\n  - w\n  - x # 1"},
		"a list below a comment of its key": {"a: # c\n  - x\nb: 1\n", set("[z]", "a"), "a: [z] # c\nb: 1\n"},
		"a comment below a block text":      {"a: |\n    x\n    y\n  # c\nb: 2\n", set("7", "a"), "a: 7\n  # c\nb: 2\n"},
		"a text in quotes over lines":       {"a: \"x\\\n  y\" # c\n", set("7", "a"), "a: 7 # c\n"},
		"a dash with nothing behind it":     {"a:\n- x\n-\n- y\n", set("7", "a", 1), "a:\n- x\n- 7\n- y\n"},
		"an item with its dash alone moves": {"a:\n- x\n# c\n-\n  # d\n  y\n", move(0, "a", 1), "a:\n# c\n-\n  # d\n  y\n- x\n"},
		"line ends of both kinds":           {"a: 1\nb: 2\r\n", add("c", "3", "a"), "a: 1\nc: 3\nb: 2\r\n"},
		"an item in brackets on its line":   {"a: [\n  x, # about x\n  y, # about y\n]\n", remove("a", 1), "a: [\n  x, # about x\n]\n"},
		"a key in braces on its line":       {"a: {\n  b: 1, # one\n  c: 2 # two\n}\n", without("a", "b"), "a: {\n  c: 2 # two\n}\n"},
		"an item in brackets moves":         {"a: [x,  y, z] # c\n", move(2, "a", 0), "a: [y,  z, x] # c\n"},
	} {
		t.Run(name, func(t *testing.T) {
			d, err := yamltext.Parse("f.yaml", []byte(c.src))
			require.NoError(t, err)
			require.Equal(t, c.src, string(d.Bytes()))
			require.NoError(t, c.edit(d))
			assert.Equal(t, c.want, string(d.Bytes()))
		})
	}
}

// What would lose a comment, or cannot be changed in place, is refused with its line, and
// nothing changes.
func TestRefused(t *testing.T) {
	for name, c := range map[string]struct {
		src  string
		edit edit
		want string // part of the error
	}{
		"no such value":                   {"a: 1\n", set("7", "b"), "f.yaml: the file has no value b"},
		"no such item":                    {"a: [x]\n", set("7", "a", 1), "no value a, item 2"},
		"two lines":                       {"a: 1\n", set("x\n- y", "a"), "is not a value on one line"},
		"no value":                        {"a: 1\n", set("[", "a"), "is not a value on one line"},
		"a comment inside":                {"a:\n  - x # one\n  - y\n", set("[z]", "a"), `f.yaml:2:1: the comment "# one" stands in the middle`},
		"a mapping inside a text":         {"a: {b: 1}\n", set("c: 1", "a", "b"), "f.yaml:1:1: this cannot be changed in place"},
		"a key that is there":             {"a: 1\nb: 2\n", rename("b", "a"), `the key "b" is there already`},
		"a new key that is there":         {"a: 1\n", add("a", "2", ""), `the key "a" cannot be added`},
		"lines that say something else":   {"a:\n  b: 1\n", addBlock("e", "{f: 3}", "", []string{"f: 4"}, "a"), "this cannot be changed in place"},
		"a key behind one that is absent": {"a: 1\n", add("b", "2", "c"), `there is no key "c"`},
		"the only key":                    {"a:\n  b: 1\n", without("a", "b"), `"b" is the only key here`},
		"the only item":                   {"a:\n  - b\n", remove("a", 0), "the only one of its list"},
		"no list":                         {"a: 1\n", insert(0, "x", "a"), "a place in a list is wanted"},
		"an index too large":              {"a: [x]\n", insert(2, "x", "a"), "a place in a list is wanted"},
		"a comment of the next key":       {"l:\n  - at: x\n    # of look\n    look: y\n", without("l", 0, "at"), `the comment "# of look" stands in the middle`},
		"a comment of the item before":    {"a: [x, # about x\n  y]\n", remove("a", 1), `the comment "# about x" stands in the middle`},
		"a comment above a key in braces": {"a: {b: 1,\n  # about c\n  c: 2}\n", without("a", "c"), `the comment "# about c" stands in the middle`},
		"a comment behind a bar":          {"a: | # c\n  x\nb: 1\n", set("7", "a"), `the comment "# c" stands in the middle`},
		"keys with question marks":        {"? a\n: 1\n? b\n: 2\n", without("b"), "f.yaml:3:1: this cannot be changed in place"},
		"a key without a value in braces": {"{a, b: 1}\n", set("7", "a"), "this cannot be changed in place"},
		"a place too far":                 {"a: [x, y]\n", move(2, "a", 0), "a place in the list is wanted"},
	} {
		t.Run(name, func(t *testing.T) {
			d, err := yamltext.Parse("f.yaml", []byte(c.src))
			require.NoError(t, err)
			require.ErrorContains(t, c.edit(d), c.want)
			assert.Equal(t, c.src, string(d.Bytes()))
		})
	}
	for src, want := range map[string]string{
		"":                 "f.yaml: the file is empty",
		"a: [\n":           "not YAML",
		"a: &x 1\n":        "f.yaml:1:1: an anchor or an alias cannot be edited here",
		"a: &x 1\nb: *x\n": "an anchor or an alias",
		"a: !!str 1\n":     "a tag",
		"? [a, b]\n: 1\n":  "a key that is not a text",
		"a: 1\u2028b: 2\n": "line ends that YAML counts",
		"a: 1\rb: 2\n":     "line ends that YAML counts",
	} {
		_, err := yamltext.Parse("f.yaml", []byte(src))
		require.ErrorContains(t, err, want, "%q", src)
	}
}

// A scalar or an item somewhere in a file, chosen at random.
func anywhere(t *rapid.T, d *yamltext.Document) path {
	p := path{}
	for {
		n := d.Len(p)
		if n == 0 || len(p) > 0 && rapid.IntRange(0, 4).Draw(t, "stop") == 0 {
			return p
		}
		i := rapid.IntRange(0, n-1).Draw(t, "which")
		if d.IsMapping(p) {
			p = append(p[:len(p):len(p)], d.Keys(p)[i])
		} else {
			p = append(p[:len(p):len(p)], i)
		}
	}
}

// drawn returns an edit at a random place.
func drawn(t *rapid.T, d *yamltext.Document) error {
	p := anywhere(t, d)
	value := rapid.SampledFrom([]string{"7", "40 %", "a b", `"x: y"`, "'it''s'", "[a, b]", "{a: 1}", "[]", "{}", "none"}).Draw(t, "value")
	switch rapid.IntRange(0, 8).Draw(t, "kind") {
	case 0:
		return d.Set(p, value)
	case 1:
		return d.SetText(p, rapid.String().Draw(t, "text"))
	case 2:
		return d.RenameKey(p, rapid.SampledFrom([]string{"glow", "a: b", "é"}).Draw(t, "key"))
	case 3:
		return d.AddKey(p, "new", value, "")
	case 4:
		return d.CopyKey(p, "copy")
	case 5:
		return d.RemoveKey(p)
	case 6:
		return d.Insert(p, rapid.IntRange(0, d.Len(p)).Draw(t, "at"), value)
	case 7:
		return d.Remove(p)
	}
	to := 0
	if len(p) > 0 {
		to = rapid.IntRange(0, max(0, d.Len(p[:len(p)-1])-1)).Draw(t, "to")
	}
	return d.Move(p, to)
}

// Whatever is edited in whatever file, it stays one that an independent reader reads, and
// comments above and below the lines that change stay; what is refused changes nothing.
func TestRandomEdits(t *testing.T) {
	files, err := filepath.Glob("../harbour-hall/*.yaml")
	require.NoError(t, err)
	songs, err := filepath.Glob("../harbour-hall/*/*.yaml")
	require.NoError(t, err)
	ugly, err := filepath.Glob("testdata/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, ugly)
	files = append(append(files, songs...), ugly...)
	made := 0
	rapid.Check(t, func(rt *rapid.T) {
		src, err := os.ReadFile(rapid.SampledFrom(files).Draw(rt, "file"))
		require.NoError(rt, err)
		if rapid.Bool().Draw(rt, "carriage returns") {
			src = []byte(strings.ReplaceAll(string(src), "\n", "\r\n"))
		}
		d, err := yamltext.Parse("f.yaml", src)
		require.NoError(rt, err)
		for range rapid.IntRange(1, 6).Draw(rt, "edits") {
			before := string(d.Bytes())
			if err := drawn(rt, d); err != nil {
				require.Equal(rt, before, string(d.Bytes()))
				continue
			}
			made++
			after := string(d.Bytes())
			var read any
			require.NoError(rt, goyaml.Unmarshal([]byte(after), &read), "%s", after)
			again, err := yamltext.Parse("f.yaml", []byte(after))
			require.NoError(rt, err)
			require.Equal(rt, after, string(again.Bytes()))
		}
	})
	assert.Greater(t, made, 50)
}

// FuzzEdits looks for files that break an edit.
func FuzzEdits(f *testing.F) {
	files, _ := filepath.Glob("testdata/*.yaml")
	for _, name := range files {
		src, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(src, uint64(1))
	}
	f.Fuzz(func(t *testing.T, src []byte, seed uint64) {
		d, err := yamltext.Parse("f.yaml", src)
		if err != nil {
			return
		}
		require.Equal(t, string(src), string(d.Bytes()))
		p := path{}
		for d.Len(p) > 0 && len(p) < 8 {
			i := int(seed % uint64(d.Len(p)))
			seed = seed*6364136223846793005 + 1442695040888963407
			if d.IsMapping(p) {
				p = append(p, d.Keys(p)[i])
			} else {
				p = append(p, i)
			}
		}
		before := string(d.Bytes())
		if d.Set(p, "7") == nil {
			assert.Equal(t, "7", d.Text(p))
		} else {
			assert.Equal(t, before, string(d.Bytes()))
		}
		_ = d.RemoveKey(p)
		_ = d.Remove(p)
	})
}
