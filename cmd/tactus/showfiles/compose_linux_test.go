package showfiles

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/compose"
	"tactus/shows/showtest"
)

// onSmallDisk is set in the process that has a disk of its own, to where it is mounted.
const onSmallDisk = "TACTUS_COMPOSE_SMALL_DISK"

// TestChildOnSmallDisk is the child of the test below.
func TestChildOnSmallDisk(t *testing.T) {
	disk := os.Getenv(onSmallDisk)
	if disk == "" {
		t.Skip("the child of TestFullDiskAndReadOnlyFolder")
	}
	from := showtest.NewFolder(t, harbourHall)
	f := showtest.Folder{Dir: filepath.Join(disk, "hall")}
	require.NoError(t, os.CopyFS(f.Dir, os.DirFS(from.Dir)))
	s := composed(t, showtest.Folder{Dir: f.Dir})
	filler := filepath.Join(disk, "filler")
	fill(t, filler)
	state, err := s.Apply(1, energies(9))
	require.NoError(t, err)
	unchanged := func() {
		for _, name := range []string{lanterns, saturday} {
			want, err := os.ReadFile(filepath.Join(from.Dir, name))
			require.NoError(t, err)
			got, err := os.ReadFile(filepath.Join(f.Dir, name))
			require.NoError(t, err)
			assert.Equal(t, string(want), string(got), name)
		}
		left, err := filepath.Glob(filepath.Join(f.Dir, "songs", ".*"))
		require.NoError(t, err)
		assert.Empty(t, left, "files left behind")
		assert.Equal(t, []string{lanterns, saturday}, s.State().Unsaved, "edits are lost")
	}
	_, err = s.Save(state.Revision)
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.ErrorContains(t, err, "not saved, and kept as unsaved edits: write "+filepath.Join(f.Dir, "songs"))
	unchanged()
	require.NoError(t, os.Remove(filler))
	require.NoError(t, syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	_, err = s.Save(state.Revision)
	require.ErrorIs(t, err, syscall.EROFS)
	require.ErrorContains(t, err, "not saved, and kept as unsaved edits: ")
	unchanged()
	require.NoError(t, syscall.Mount("", disk, "", syscall.MS_REMOUNT, "size=1m"))
	state, err = s.Save(state.Revision)
	require.NoError(t, err)
	assert.Equal(t, compose.State{Revision: 2, Saves: 1, Undo: state.Undo}, state)
}

// fill writes a file until the disk is full.
func fill(t *testing.T, name string) {
	file, err := os.Create(name)
	require.NoError(t, err)
	for err == nil {
		_, err = file.Write(make([]byte, 4096))
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.NoError(t, file.Close())
}

// A full disk and a folder that cannot be written: every file is as it was, the edits are
// kept, and saved once there is room.
func TestFullDiskAndReadOnlyFolder(t *testing.T) {
	if _, err := exec.LookPath("unshare"); err != nil || os.Geteuid() != 0 {
		require.NotEqual(t, "true", os.Getenv("CI"), "needs unshare and root, for a mount of its own")
		t.Skip("needs unshare and root, for a mount of its own")
	}
	disk := t.TempDir()
	// The mount ends with the namespace, which ends with the child.
	child := exec.Command("unshare", "-m", "sh", "-c", `mount -t tmpfs -o size=1m tmpfs "$0" && exec "$@"`, disk,
		os.Args[0], "-test.run=^TestChildOnSmallDisk$")
	child.Env = append(os.Environ(), onSmallDisk+"="+disk)
	out, err := child.CombinedOutput()
	if exit := (*exec.ExitError)(nil); errors.As(err, &exit) {
		require.Fail(t, "in the child", "%s", out)
	}
	require.NoError(t, err)
	require.Contains(t, string(out), "PASS")
}
