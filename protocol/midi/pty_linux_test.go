package midi

import (
	"fmt"

	"golang.org/x/sys/unix"
)

// ptyName unlocks the other end of a pseudo terminal and names it.
func ptyName(master int) (string, error) {
	if err := unix.IoctlSetPointerInt(master, unix.TIOCSPTLCK, 0); err != nil {
		return "", err
	}
	n, err := unix.IoctlGetInt(master, unix.TIOCGPTN)
	return fmt.Sprintf("/dev/pts/%d", n), err
}
