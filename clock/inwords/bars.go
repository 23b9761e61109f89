package inwords

import (
	"strconv"

	"tactus/clock"
)

// AppendBars says by how much the DAW's bars are later than counted (earlier where by is
// below 0), and how many notes agree on it. It appends nothing when by is 0, and
// allocates nothing where there is room.
func AppendBars(b []byte, by clock.Time, notes int) []byte {
	if by == 0 {
		return b
	}
	way := " later"
	if by < 0 {
		way, by = " earlier", -by
	}
	b = append(appendNear(append(b, "the DAW's bars are "...), by), way...)
	b = strconv.AppendInt(append(b, " than counted ("...), int64(notes), 10)
	return append(b, " notes agree): press Align bars to follow them"...)
}
