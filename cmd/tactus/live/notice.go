package live

import (
	"fmt"
	"sync"
)

// Notice keeps what is to be seen on a screen's last line: the first fault, or
// else where the page is.
type Notice struct {
	page string // where to open a browser; ""
	mu   sync.Mutex
	bad  []string
}

// Tell takes lines about the files, of which the first is a headline; they are
// kept when bad, and what was kept before is forgotten.
func (n *Notice) Tell(bad bool, lines []string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.bad = nil
	if bad {
		n.bad = lines[1:]
	}
}

// AppendTo appends the notice in the last row of a screen, if there is one.
func (n *Notice) AppendTo(dst []byte, width, height int) []byte {
	n.mu.Lock()
	defer n.mu.Unlock()
	if len(n.bad) == 0 {
		if n.page == "" || len(n.page) > width {
			return dst
		}
		return fmt.Appendf(dst, "\x1b[%d;1H\x1b[0m%s\x1b[K", height, n.page)
	}
	line := []rune(fmt.Sprintf("FILES (%d): %s", len(n.bad), n.bad[0]))
	if len(line) > width {
		line = line[:width]
	}
	return fmt.Appendf(dst, "\x1b[%d;1H\x1b[0;7m%s\x1b[0m\x1b[K", height, string(line))
}
