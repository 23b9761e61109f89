package main

import (
	"context"
	"fmt"
	"strings"
	"sync"
)

// follow lets edits of the show's files reach the show while it plays. A nil
// reloader is none. tell gets lines for people, the first is a headline; bad
// means that something keeps an edit out.
func (s *session) follow(r *reloader, tell func(bad bool, lines []string)) {
	if r == nil {
		return
	}
	s.watch = func(ctx context.Context) {
		r.run(ctx, func(e *edit) {
			if e.show != nil && s.page != nil {
				s.page.panel.Edited(e.show)
			}
			if e.revision == nil || s.turns.revise(ctx, e.revision) {
				tell(e.faults != nil || e.restart != nil, e.lines())
			}
		})
	}
}

// lines says what came of an edit.
func (e *edit) lines() []string {
	switch {
	case e.faults != nil:
		lines := []string{fmt.Sprintf("the show's files do not fit (faults: %d); nothing changes until they do", len(e.faults))}
		for _, p := range e.faults {
			lines = append(lines, p.String())
		}
		return lines
	case e.restart != nil:
		lines := []string{"the show's files hold changes that cannot be taken over while it plays; nothing changes: start again when it suits you"}
		return append(lines, strings.Split(e.restart.Error(), "\n")...)
	case e.revision == nil:
		return []string{"the show's files are as they play"}
	}
	lines := []string{"the show's files have changed: taken over"}
	if gone := e.revision.Gone(); len(gone) > 0 {
		lines = append(lines, "no longer in the show: "+strings.Join(gone, ", ")+"; what plays of it stays until something else is shown")
	}
	return lines
}

// logged tells the log.
func (s *session) logged(bad bool, lines []string) {
	for _, line := range lines {
		if bad {
			s.log.Error().Msg(line)
		} else {
			s.log.Info().Msg(line)
		}
	}
}

// notice keeps what is to be seen on a screen's last line: the first fault, or
// else where the page is.
type notice struct {
	page string // where to open a browser; ""
	mu   sync.Mutex
	bad  []string
}

func (n *notice) tell(bad bool, lines []string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.bad = nil
	if bad {
		n.bad = lines[1:]
	}
}

// appendTo appends the notice in the last row of a screen, if there is one.
func (n *notice) appendTo(dst []byte, width, height int) []byte {
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
