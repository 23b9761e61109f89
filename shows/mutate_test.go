package shows_test

import (
	"bytes"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	yaml "go.yaml.in/yaml/v4"
	"pgregory.net/rapid"

	"tactus/shows/language"
)

// source is a good file to be spoiled.
type source struct {
	name string
	kind language.Kind
	src  []byte
}

func goodFiles(t testing.TB) []source {
	t.Helper()
	var found []source
	for _, dir := range append(cases(t, "good"), "harbour-hall") {
		for name, f := range folder(t, dir) {
			if kind, ok := language.KindOf(name); ok {
				found = append(found, source{filepath.ToSlash(filepath.Join(dir, name)), kind, f.Data})
			}
		}
	}
	slices.SortFunc(found, func(a, b source) int { return bytes.Compare([]byte(a.name), []byte(b.name)) })
	return found
}

// scalars are put in the place of others. None of them is read differently by
// different YAML readers, such as 010 or 1e3: those are in bad/spelling.
var scalars = []string{
	"40 %", "40%", "140 %", "12,5 %", "4 beats", "4 Beats", "3 S", "96 BPM", "40 hz", "-1.5 M", "3200 k", "Chorus 2, Bar 3", "1/2 beat", "1/0 beat", "3 s", "500 ms", "3 min", "96 bpm", "44 Hz", "45 Hz",
	"-1.5 m", "1.5", "0", "1", "-1", "7", "16", "127", "128", "200", "201", "512", "513", "32767", "32768", "63999",
	"64000", "true", "null", "yes", "no", "none", "snap", "even", "1/2 cycle", "main", "warm", "\"#ff8040\"", "\"#ff80\"",
	"intensity", "colour", "steps", "noise", "square", "sine", "hold", "fade", "4/4", "6/8", "0/4", "10.0.0.7",
	"chorus 2, bar 3", "\"chorus, bar 3 beat 2\"", "outro end - 1 bar", "\"\"", "embers", "wash 1-4", "[]", "{}",
	"[main]", "[40 %]", "[1 m, 2 m, 3 m]", "{do: fade}", "{do: hold, over: 3 s}", "{sacn: 1}", "{virtual: yes}",
}

// Both verdicts on a spoiled file have to agree, whichever way it was spoiled.
func TestSchemaAndLoaderAgree(t *testing.T) {
	compiled := schemas(t)
	files := goodFiles(t)
	refused, accepted := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(files).Draw(t, "file")
		var doc yaml.Node
		require.NoError(t, yaml.Unmarshal(f.src, &doc))
		for range rapid.IntRange(1, 2).Draw(t, "spoilings") {
			spoil(t, &doc)
		}
		src, err := yaml.Marshal(&doc)
		if err != nil {
			t.Skip("not to be written")
		}
		_, problems := language.ParseAs(f.name, f.kind, src)
		v, err := instance(src)
		require.NoError(t, err, "the other reader fails\n%s", src)
		bySchema := compiled[f.kind].Validate(v)
		require.Equal(t, len(problems) == 0, bySchema == nil, "%s: the schema says: %v\nthe loader says: %v\n%s", f.name, bySchema, problems, src)
		if bySchema != nil {
			refused++
		} else {
			accepted++
		}
	})
	assert.GreaterOrEqual(t, refused, 10, "too few of one to say much")
	assert.GreaterOrEqual(t, accepted, 5, "too few of one to say much")
}

// spoil changes one place of a document: drops or renames a key, puts another
// value in its place, adds a key or repeats an item.
func spoil(t *rapid.T, doc *yaml.Node) {
	var places []*yaml.Node
	var walk func(n *yaml.Node)
	walk = func(n *yaml.Node) {
		if n.Kind == yaml.MappingNode || n.Kind == yaml.SequenceNode {
			places = append(places, n)
		}
		for _, c := range n.Content {
			walk(c)
		}
	}
	walk(doc)
	n := rapid.SampledFrom(places).Draw(t, "place")
	step := 1
	if n.Kind == yaml.MappingNode {
		step = 2
	}
	if len(n.Content) < step {
		return
	}
	i := rapid.IntRange(0, len(n.Content)/step-1).Draw(t, "index") * step
	value := node(t, rapid.SampledFrom(scalars).Draw(t, "scalar"))
	switch what := rapid.SampledFrom([]string{"drop", "rename", "replace", "add"}).Draw(t, "what"); {
	case what == "drop":
		n.Content = slices.Delete(slices.Clone(n.Content), i, i+step)
	case what == "replace":
		n.Content[i+step-1] = value
	case what == "rename" && step == 2:
		key := *n.Content[i]
		key.Value = rapid.SampledFrom([]string{key.Value + "x", "Name", "at", "from", "to", "levels", "duty", "over", "a - b", "x, y"}).Draw(t, "key")
		if !hasKey(n, key.Value) {
			n.Content[i] = &key
		}
	case what == "add" && step == 2:
		key := rapid.SampledFrom([]string{"extra", "fade", "at", "from", "to", "levels", "seed", "duty", "skew", "priority", "to", "every", "note", "set", "effects"}).Draw(t, "key")
		if !hasKey(n, key) {
			n.Content = append(slices.Clone(n.Content), node(t, key), value)
		}
	default:
		n.Content = append(slices.Clone(n.Content), n.Content[i:i+step]...)
		if step == 2 {
			n.Content = n.Content[:len(n.Content)-2] // keys that come twice are in bad/spelling
		}
	}
}

func hasKey(n *yaml.Node, key string) bool {
	for i := 0; i < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return true
		}
	}
	return false
}

func node(t *rapid.T, src string) *yaml.Node {
	var doc yaml.Node
	require.NoError(t, yaml.Unmarshal([]byte(src), &doc))
	return doc.Content[0]
}
