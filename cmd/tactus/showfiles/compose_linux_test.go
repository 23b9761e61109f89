package showfiles

import (
	"errors"
	"io/fs"
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

// inFolderOfOthers names the folder for the child of TestFilesOfAnotherOwner.
const inFolderOfOthers = "TACTUS_FOLDER_OF_OTHERS"

// The child saves into a folder that belongs to somebody else.
func TestChildSavesToFolderOfOthers(t *testing.T) {
	dir := os.Getenv(inFolderOfOthers)
	if dir == "" {
		t.Skip("the child of TestFilesOfAnotherOwner")
	}
	s := composed(t, showtest.Folder{Dir: dir})
	state, err := s.Apply(1, energies(9))
	require.NoError(t, err)
	_, err = s.Save(state.Revision)
	require.ErrorIs(t, err, syscall.EACCES)
	require.ErrorContains(t, err, "not saved, and kept as unsaved edits: write "+filepath.Join(dir, "songs"))
	require.ErrorContains(t, err, "permission denied")
	assert.Equal(t, []string{lanterns, saturday}, s.State().Unsaved, "edits are lost")
}

// A show in a repository of somebody else: who may not write it is told so, and nothing is
// lost; root saves, and the files stay the other's.
func TestFilesOfAnotherOwner(t *testing.T) {
	if os.Geteuid() != 0 {
		require.NotEqual(t, "true", os.Getenv("CI"), "needs root, to make files of another owner")
		t.Skip("needs root, to make files of another owner")
	}
	const owner, guest = 61234, 61235
	from := showtest.NewFolder(t, harbourHall)
	top, err := os.MkdirTemp("", "tactus-owner-") // of t.TempDir only its owner may look inside
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(top)) })
	require.NoError(t, os.Chmod(top, 0o755))
	dir := filepath.Join(top, "hall")
	require.NoError(t, os.CopyFS(dir, os.DirFS(from.Dir)))
	require.NoError(t, os.Mkdir(filepath.Join(dir, ".git"), 0o755))
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		require.NoError(t, err)
		mode := fs.FileMode(0o644)
		if e.IsDir() {
			mode = 0o755
		}
		require.NoError(t, os.Chmod(path, mode))
		return os.Chown(path, owner, owner)
	}))

	binary := filepath.Join(top, "test")
	src, err := os.ReadFile(os.Args[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(binary, src, 0o755))
	child := exec.Command(binary, "-test.run=^TestChildSavesToFolderOfOthers$")
	child.Env, child.Dir = append(os.Environ(), inFolderOfOthers+"="+dir), top
	child.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: guest, Gid: guest}}
	out, err := child.CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.Contains(t, string(out), "PASS")
	for _, name := range []string{lanterns, saturday} {
		want, err := os.ReadFile(filepath.Join(from.Dir, name))
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		require.Equal(t, string(want), string(got), name)
	}

	s := composed(t, showtest.Folder{Dir: dir})
	state, err := s.Apply(1, energies(9))
	require.NoError(t, err)
	_, err = s.Save(state.Revision)
	require.NoError(t, err)
	info, err := os.Stat(filepath.Join(dir, lanterns))
	require.NoError(t, err)
	stat, ok := info.Sys().(*syscall.Stat_t)
	require.True(t, ok)
	assert.EqualValues(t, owner, stat.Uid)
	assert.EqualValues(t, owner, stat.Gid)
	assert.EqualValues(t, 0o644, info.Mode())
}
