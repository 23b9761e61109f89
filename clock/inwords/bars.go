package inwords

import (
	"strconv"

	"tactus/clock"
)

// AppendBars says that so many notes of the DAW lie the same number of clock
// ticks, by in time, after the beats that are counted; before them when it is
// below 0. It appends nothing when ticks is 0, and allocates nothing where there
// is room.
func AppendBars(b []byte, ticks int, by clock.Time, notes int) []byte {
	if ticks == 0 {
		return b
	}
	way := " later"
	if ticks < 0 {
		way, ticks, by = " earlier", -ticks, -by
	}
	b = appendMS(append(b, "the DAW's bars are "...), by)
	b = strconv.AppendInt(append(b, " ("...), int64(ticks), 10)
	b = append(b, " clock tick"...)
	if ticks != 1 {
		b = append(b, 's')
	}
	b = append(append(b, ')'), way...)
	b = strconv.AppendInt(append(b, " than counted, "...), int64(notes), 10)
	return append(b, " notes agree: press Align bars to follow them"...)
}
