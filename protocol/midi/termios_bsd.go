//go:build unix && !linux && !solaris && !illumos && !aix

package midi

import "golang.org/x/sys/unix"

const (
	getTermios = unix.TIOCGETA
	setTermios = unix.TIOCSETA
)
