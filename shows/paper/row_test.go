package paper

import (
	"bytes"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
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

// The switches are worth 1, 2, 4 ... 256 (common practice, no source). Worked
// by hand: 1 = 1; 10 = 2+8; 101 = 1+4+32+64; 255 = 1+...+128; 256; 330 =
// 2+8+64+256; 511 = all.
func TestSwitches(t *testing.T) {
	for address, want := range map[int]string{
		1: "1--------", 2: "-2-------", 3: "12-------", 10: "-2-4-----", 101: "1-3--67--", 255: "12345678-",
		256: "--------9", 330: "-2-4--7-9", 511: "123456789", 512: "not with 9", 0: "not with 9",
	} {
		assert.Equal(t, want, dipSwitches(address), address)
	}
	for a := 1; a <= 511; a++ { // they add up again
		on, ok := Switches(a)
		sum := 0
		for i, worth := range []int{1, 2, 4, 8, 16, 32, 64, 128, 256} {
			if on[i] {
				sum += worth
			}
		}
		require.True(t, ok, "%d: the switches add up", a)
		require.Equal(t, a, sum, "%d: the switches add up", a)
	}
}

func TestTableAndSheet(t *testing.T) {
	s := show(t, func(rig string) string {
		return strings.Replace(rig, "universes:\n", "universes:\n  spare: {virtual: yes}\n", 1)
	})
	var out bytes.Buffer
	Table(&out, s)
	out.WriteString("\n")
	require.NoError(t, Text(&out, PatchBook(s)))
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
	require.NoError(t, HTML(&out, PatchBook(s)))
	page := out.String()
	for _, bad := range []string{"<script", "http:", "https:", "src="} {
		assert.NotContains(t, page, bad, "the page holds")
	}
	assert.Contains(t, page, "&lt;script&gt;")
	assert.Contains(t, page, "<td>49</td><td>1---56---</td><td>front 1</td>")
}
