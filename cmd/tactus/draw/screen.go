package draw

// Enter and Leave are for the caller, around all frames: the alternate screen
// buffer, so that what was on the screen comes back, and a hidden cursor.
const (
	Enter = "\x1b[?1049h\x1b[?25l\x1b[2J\x1b[H"
	Leave = "\x1b[0m\x1b[?25h\x1b[?1049l"
)

// begin and end hold a terminal that knows synchronized output to whole frames;
// others ignore them.
const (
	begin = "\x1b[?2026h"
	end   = "\x1b[?2026l"
)

// MinWidth and MinHeight are the least window that is drawn; a smaller one gets
// text.
const (
	MinWidth  = 60
	MinHeight = 16
)

// WantsColour reads NO_COLOR as no-color.org defines it: any value but an empty
// one asks for no colour. A terminal of type "dumb" gets none either.
func WantsColour(getenv func(string) string) bool {
	return getenv("NO_COLOR") == "" && getenv("TERM") != "dumb"
}
