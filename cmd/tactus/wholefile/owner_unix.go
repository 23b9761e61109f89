//go:build unix

package wholefile

import (
	"io/fs"
	"os"
	"syscall"
)

// keepOwner gives a file the owner and group of the one whose place it takes, as far as the
// user may: only root may give files away, and members of a group to it.
func keepOwner(f *os.File, before fs.FileInfo) {
	was, ok := before.Sys().(*syscall.Stat_t)
	if !ok {
		return
	}
	if f.Chown(int(was.Uid), int(was.Gid)) != nil {
		_ = f.Chown(-1, int(was.Gid)) // the file is as good without
	}
}
