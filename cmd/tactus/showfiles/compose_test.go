package showfiles

import (
	"bufio"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
	"tactus/shows/showtest"
)

const (
	harbourHall = "../../../shows/harbour-hall"
	lanterns    = "songs/lanterns.yaml"
	saturday    = "songs/saturday.yaml"
)

// composed opens a session on a copy of the demo.
func composed(t *testing.T, f showtest.Folder) *compose.Session {
	t.Helper()
	s, err := Compose(f.Dir, "")
	require.NoError(t, err)
	return s
}

// energies returns edits of two songs.
func energies(energy int) []compose.Edit {
	return []compose.Edit{
		&compose.SetEnergy{Song: lanterns, Section: 1, Energy: energy},
		&compose.SetEnergy{Song: saturday, Section: 1, Energy: energy},
	}
}

// save makes edits and saves them.
func save(t *testing.T, s *compose.Session, edits []compose.Edit) {
	t.Helper()
	state, err := s.Apply(s.State().Revision, edits)
	require.NoError(t, err)
	_, err = s.Save(state.Revision)
	require.NoError(t, err)
}

func TestComposeNames(t *testing.T) {
	s, err := Compose(Demo, "")
	require.NoError(t, err)
	state, err := s.Apply(1, energies(9))
	require.NoError(t, err)
	_, err = s.Save(state.Revision)
	require.ErrorIs(t, err, compose.ErrNotWritable)
	_, err = Compose("nowhere", "")
	require.ErrorContains(t, err, "no folder")
}

// Permissions stay, and a link inside the folder stays one: what it leads to is written.
func TestSaveKeepsModesAndLinks(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("permissions and links are those of Unix")
	}
	f := showtest.NewFolder(t, harbourHall)
	require.NoError(t, os.Mkdir(filepath.Join(f.Dir, "kept"), 0o755))
	require.NoError(t, os.Rename(filepath.Join(f.Dir, lanterns), filepath.Join(f.Dir, "kept", "lanterns.txt")))
	require.NoError(t, os.Symlink("../kept/lanterns.txt", filepath.Join(f.Dir, lanterns)))
	require.NoError(t, os.Chmod(filepath.Join(f.Dir, saturday), 0o600))
	s := composed(t, f)
	save(t, s, energies(9))
	info, err := os.Lstat(filepath.Join(f.Dir, lanterns))
	require.NoError(t, err)
	assert.Equal(t, fs.ModeSymlink, info.Mode().Type())
	assert.Contains(t, f.Read("kept/lanterns.txt"), "verse: {bars: 8, energy: 9")
	info, err = os.Lstat(filepath.Join(f.Dir, saturday))
	require.NoError(t, err)
	assert.EqualValues(t, 0o600, info.Mode())
	assert.Contains(t, f.Read(saturday), "energy: 9")
}

// inChild is set in processes that a test starts of its own binary, to the show's folder.
const inChild = "TACTUS_COMPOSE_IN"

// TestChildSaves edits and saves without end, for the test below. It prints a line before
// it writes.
func TestChildSaves(t *testing.T) {
	dir := os.Getenv(inChild)
	if dir == "" {
		t.Skip("the child of TestKilledWhileSaving")
	}
	s, err := compose.Open(dir, compose.Options{Write: func(list []compose.Written) error {
		fmt.Println("saving")
		return writeTogether(list)
	}})
	require.NoError(t, err)
	for i := 0; ; i++ {
		save(t, s, energies(3+i%2))
	}
}

// A process that is killed while it saves leaves each file old or new, never half, and a
// show that loads.
func TestKilledWhileSaving(t *testing.T) {
	f := showtest.NewFolder(t, harbourHall)
	s := composed(t, f)
	var whole [2]map[string]string
	for i := range whole {
		save(t, s, energies(3+i))
		whole[i] = map[string]string{lanterns: f.Read(lanterns), saturday: f.Read(saturday)}
		require.Contains(t, whole[i][lanterns], fmt.Sprintf("energy: %d", 3+i))
	}
	seen := map[string]int{}
	for kill := range 7 {
		child := exec.Command(os.Args[0], "-test.run=^TestChildSaves$", "-test.v")
		child.Env = append(os.Environ(), inChild+"="+f.Dir)
		out, err := child.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, child.Start())
		lines := bufio.NewScanner(out)
		for saves := 0; saves < 2+kill && lines.Scan(); {
			if lines.Text() == "saving" {
				saves++
			}
		}
		require.NoError(t, child.Process.Kill())
		require.Error(t, child.Wait(), "it ended by itself")
		for _, name := range []string{lanterns, saturday} {
			got := f.Read(name)
			if got != whole[0][name] && got != whole[1][name] {
				require.Fail(t, "neither the old nor the new file", "%s:\n%s", name, got)
			}
			seen[got]++
		}
		showtest.Load(t, os.DirFS(f.Dir))
	}
	left, err := filepath.Glob(filepath.Join(f.Dir, "songs", ".*"))
	require.NoError(t, err)
	t.Logf("%d kinds of files were found, and %d that were being written", len(seen), len(left))
}
