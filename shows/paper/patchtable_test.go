package paper_test

import (
	"bytes"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/paper"
	"tactus/shows/showtest"
)

var update = flag.Bool("update", false, "rewrite the expected files")

// show loads a hall of these tests, its rig changed if asked.
func show(t *testing.T, rig func(string) string) *shows.Show {
	t.Helper()
	files := showtest.Files(t, os.DirFS("testdata/hall"))
	if rig != nil {
		files["rig.yaml"].Data = []byte(rig(string(files["rig.yaml"].Data)))
	}
	return showtest.Load(t, files)
}

func TestTableAndSheet(t *testing.T) {
	s := show(t, func(rig string) string {
		return strings.Replace(rig, "universes:\n", "universes:\n  spare: {virtual: yes}\n", 1)
	})
	var out bytes.Buffer
	paper.PrintPatch(&out, s)
	out.WriteString("\n")
	require.NoError(t, paper.Text(&out, paper.PatchBook(s)))
	name := "testdata/patch.golden"
	if *update {
		require.NoError(t, os.WriteFile(name, out.Bytes(), 0o644))
	}
	want, err := os.ReadFile(name)
	assert.NoError(t, err, "differs from %s (%v)", name, err)
	assert.Equal(t, string(want), out.String(), "differs from %s (%v)", name, err)
}

// What people type is text on the page, never markup, and the page loads
// nothing.
func TestPatchPage(t *testing.T) {
	s := show(t, nil)
	s.Venue = `<script>alert("x")</script>`
	var out strings.Builder
	require.NoError(t, paper.HTML(&out, paper.PatchBook(s)))
	page := out.String()
	for _, bad := range []string{"<script", "http:", "https:", "src="} {
		assert.NotContains(t, page, bad, "the page holds")
	}
	assert.Contains(t, page, "&lt;script&gt;")
	assert.Contains(t, page, "<td>49</td><td>1---56---</td><td>front 1</td>")
}
