package compose

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// text draws lines, some of them equal, the last one sometimes without an end.
func text(t *rapid.T, label string) []byte {
	lines := rapid.SliceOfN(rapid.SampledFrom([]string{"a\n", "b\n", "c\r\n", "\n", "-x\n", "+y\n", " z\n", "@@ -1,1 +1,1 @@\n", "\\ No newline\n"}), 0, 12).Draw(t, label)
	src := []byte{}
	for _, l := range lines {
		src = append(src, l...)
	}
	if rapid.Bool().Draw(t, label+" has no last line end") {
		src = bytes.TrimSuffix(src, []byte("\n"))
	}
	return src
}

func TestMergeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base, mine, theirs := text(t, "base"), text(t, "mine"), text(t, "theirs")
		for _, c := range []struct{ a, b, want []byte }{{mine, base, mine}, {base, theirs, theirs}, {mine, mine, mine}} {
			got, _, ok := mergeLines(base, c.a, c.b)
			if !ok || !bytes.Equal(got, c.want) {
				require.Fail(t, "a change by one side alone", "%q %q %q: %q", base, c.a, c.b, got)
			}
		}
		one, line, ok := mergeLines(base, mine, theirs)
		other, otherLine, otherOK := mergeLines(base, theirs, mine)
		if ok != otherOK || line != otherLine || !bytes.Equal(one, other) {
			require.Fail(t, "the sides are not alike", "%q %q %q: %q, %q", base, mine, theirs, one, other)
		}
	})
}

// What git merges without a conflict is merged to the same bytes. (git refuses more:
// changes of neighbouring lines.)
func TestMergeAsGit(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("needs git")
	}
	dir := t.TempDir()
	const most = 40 // each starts a process
	checks := 0
	rapid.Check(t, func(t *rapid.T) {
		if checks++; checks > most {
			return
		}
		var base []string
		for i := range rapid.IntRange(3, 20).Draw(t, "lines") {
			base = append(base, string(rune('a'+i))+"\n")
		}
		change := func(label string) []byte {
			lines := slices.Clone(base)
			for range rapid.IntRange(0, 3).Draw(t, label) {
				at := rapid.IntRange(0, len(base)-1).Draw(t, "line")
				lines[at] = rapid.SampledFrom([]string{"", label + "\n", lines[at] + label + "\n"}).Draw(t, "now")
			}
			return []byte(join(lines))
		}
		mine, theirs := change("mine"), change("theirs")
		args := []string{"merge-file", "-p", "-q"}
		for name, src := range map[string][]byte{"1": mine, "2": []byte(join(base)), "3": theirs} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), src, 0o600))
		}
		for _, name := range []string{"1", "2", "3"} {
			args = append(args, filepath.Join(dir, name))
		}
		want, err := exec.Command("git", args...).Output()
		if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
			return // conflicts
		}
		require.NoError(t, err)
		got, _, ok := mergeLines([]byte(join(base)), mine, theirs)
		assert.True(t, ok, "%q %q %q", base, mine, theirs)
		assert.Equal(t, string(want), string(got), "%q %q %q", base, mine, theirs)
	})
}

func join(lines []string) string { return string(bytes.Join(bytesOf(lines), nil)) }

func bytesOf(lines []string) (list [][]byte) {
	for _, l := range lines {
		list = append(list, []byte(l))
	}
	return list
}

// Patches lead from one set of files to another, and back to equal bytes.
func TestPatchesLeadThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) map[string][]byte {
			files := map[string][]byte{}
			for _, name := range []string{"a", "b", "c"} {
				if rapid.Bool().Draw(t, label+name) {
					files[name] = text(t, label)
				}
			}
			return files
		}
		from, to := draw("from"), draw("to")
		s := step{patches: patches(from, to)}
		if got := s.after(from); !sameSources(got, to) {
			require.Fail(t, "there", "%q to %q: %q", from, to, got)
		}
		if got := s.reversed().after(to); !sameSources(got, from) {
			require.Fail(t, "back", "%q to %q: %q", to, from, got)
		}
	})
}
