package yamltext_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/yamltext"
)

var update = flag.Bool("update", false, "rewrite the expected differences; read the diff")

// linesOf returns the lines that two texts do not have in common, from the first to the
// last that differ.
func linesOf(before, after string) string {
	a, b := strings.SplitAfter(before, "\n"), strings.SplitAfter(after, "\n")
	first := 0
	for first < len(a) && first < len(b) && a[first] == b[first] {
		first++
	}
	for len(a) > first && len(b) > first && a[len(a)-1] == b[len(b)-1] {
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	var out strings.Builder
	fmt.Fprintf(&out, "line %d\n", first+1)
	for sign, lines := range []([]string){a[first:], b[first:]} {
		for _, line := range lines {
			out.WriteString("-+"[sign:sign+1] + strings.TrimRight(line, "\r\n") + "\n")
		}
	}
	return out.String()
}

// Edits of files that people wrote differ from them in the lines of the edit alone. The
// difference is the same with carriage returns and with a byte order mark.
func TestGoldenDiffs(t *testing.T) {
	for file, edits := range map[string][]edit{
		"testdata/ugly.yaml": {
			text("It's late", "song"),
			set("72 bpm", "tempo"),
			set(`"#104f7f"`, "palette", "accent"),
			without("palette", "second"),
			set("5", "sections", 1, "verse", "energy"),
			add("fade", "1 bar", "look", "sections", 1, "verse"),
			without("sections", 1, "verse", "energy"),
			add("look", "tide", "", "sections", 2, "chorus"),
			rename("pre-chorus", "sections", 2, "chorus"),
			move(0, "sections", 2),
			remove("sections", 3),
			insert(1, "solo: {bars: 4, energy: 8}", "sections"),
			add("fade", "1 bar", "", "cues", 0),
			text("bridge - 2 beats", "cues", 1, "at"),
			remove("cues", 1),
			text("tide", "cues", 2, "look"),
		},
		"../harbour-hall/songs/lanterns.yaml": {
			set("9", "sections", 3, "chorus", "energy"),
			set("[slow breathe]", "sections", 1, "verse", "effects"),
			insert(2, "{at: bridge, look: tide}", "cues"),
			move(0, "cues", 1),
			without("cues", 0, "fade"),
			set("40 %", "cues", 3, "set", "fronts", "intensity"),
		},
	} {
		b, err := os.ReadFile(file)
		require.NoError(t, err)
		for i, src := range []string{string(b), strings.ReplaceAll(string(b), "\n", "\r\n"), "\ufeff" + string(b)} {
			var got strings.Builder
			for _, e := range edits {
				d, err := yamltext.Parse("f.yaml", []byte(src))
				require.NoError(t, err)
				if err := e(d); err != nil {
					fmt.Fprintf(&got, "refused: %v\n\n", err)
					require.Equal(t, src, string(d.Bytes()))
					continue
				}
				got.WriteString(linesOf(src, string(d.Bytes())) + "\n")
			}
			golden := filepath.Join("testdata", strings.TrimSuffix(filepath.Base(file), ".yaml")+".diffs")
			if *update && i == 0 {
				require.NoError(t, os.WriteFile(golden, []byte(got.String()), 0o600))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			assert.Equal(t, string(want), got.String(), "%s, form %d", file, i)
		}
	}
}
