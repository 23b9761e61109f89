package draw

// Enter and Leave are written by the caller before the first and after the last
// frame. They use the alternate screen buffer, so that the earlier content of the
// screen comes back, and hide the cursor.
const (
	Enter = "\x1b[?1049h\x1b[?25l\x1b[2J\x1b[H"
	Leave = "\x1b[0m\x1b[?25h\x1b[?1049l"
)

// begin and end enclose a frame. A terminal with synchronized output then shows
// whole frames only; others ignore them.
const (
	begin = "\x1b[?2026h"
	end   = "\x1b[?2026l"
)

// MinWidth and MinHeight are the smallest window in which the stage is drawn, in
// cells; a smaller one gets text only.
const (
	MinWidth  = 60
	MinHeight = 16
)

// WantsColour reports whether to use colours: not when NO_COLOR has a value
// (no-color.org), and not on a terminal of type "dumb".
func WantsColour(getenv func(string) string) bool {
	return getenv("NO_COLOR") == "" && getenv("TERM") != "dumb"
}
