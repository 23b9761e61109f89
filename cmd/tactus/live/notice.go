package live

import (
	"fmt"
	"sync"
)

// Notice is what a screen's last line shows: the first fault in the show's files, else
// the page's address.
type Notice struct {
	page   string // where to open a browser; ""
	mu     sync.Mutex
	faults []string
}

// Set replaces the faults by lines, the first of them a headline; without bad there
// are none.
func (n *Notice) Set(bad bool, lines []string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.faults = nil
	if bad {
		n.faults = lines[1:]
	}
}

// AppendTo appends the notice in the last row of a screen, if there is one.
func (n *Notice) AppendTo(dst []byte, width, height int) []byte {
	n.mu.Lock()
	defer n.mu.Unlock()
	if len(n.faults) == 0 {
		if n.page == "" || len(n.page) > width {
			return dst
		}
		return fmt.Appendf(dst, "\x1b[%d;1H\x1b[0m%s\x1b[K", height, n.page)
	}
	line := []rune(fmt.Sprintf("FILES (%d): %s", len(n.faults), n.faults[0]))
	if len(line) > width {
		line = line[:width]
	}
	return fmt.Appendf(dst, "\x1b[%d;1H\x1b[0;7m%s\x1b[0m\x1b[K", height, string(line))
}
