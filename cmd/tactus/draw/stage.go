package draw

import (
	"math"
	"sort"

	"tactus/engine"
)

// The viewer's eye is in the hall, in metres from the middle of the stage's front
// edge. Its place decides only which heads cover each other.
const (
	eyeBack = 14.0
	eyeUp   = 1.6
	hungAt  = 2.0 // heads at this height or above hang
	apartBy = 0.4 // heads further apart than this in depth or height are on different lines
)

// line is the heads at one height and depth: a truss, or a row on the floor.
type line struct {
	heads []int32
	at    engine.Point // X is not used
}

// slope returns how high the eye sees the line: metres above the eye for each metre of
// distance.
func (l *line) slope() float64 { return (l.at.Z - eyeUp) / (eyeBack + max(0, l.at.Y)) }

// across is how far right of the middle the eye sees a point, in metres.
func across(p engine.Point) float64 { return p.X * eyeBack / (eyeBack + max(0, p.Y)) }

// linesOf groups the heads on stage into lines, those that are seen highest first.
func linesOf(p *engine.Program, all []headGroup) []line {
	var lines []line
	for v := range all {
		if all[v].notInSongs || all[v].haze {
			continue
		}
		for _, h := range all[v].heads {
			at, i := p.Heads[h].At, 0
			for i < len(lines) && (math.Abs(lines[i].at.Y-at.Y) > apartBy || math.Abs(lines[i].at.Z-at.Z) > apartBy) {
				i++
			}
			if i == len(lines) {
				lines = append(lines, line{at: at})
			}
			lines[i].heads = append(lines[i].heads, h)
		}
	}
	sort.SliceStable(lines, func(a, b int) bool { return lines[a].slope() > lines[b].slope() })
	return lines
}

// place gives every head its cells on a stage of w by h cells.
func place(p *engine.Program, all []headGroup, w, h int) (lamps []lamp, bars []bar) {
	lines := linesOf(p, all)
	var stage []int32
	for i := range lines {
		stage = append(stage, lines[i].heads...)
	}
	merged, rows := rowsOf(lines, h)
	low, high := extent(p, merged)
	for i := range merged {
		row := placeRow(p, merged[i].heads, low, high, w)
		gap := h
		if len(rows) > 1 {
			gap = rows[min(i+1, len(rows)-1)] - rows[max(0, min(i, len(rows)-2))]
		}
		hung := merged[i].at.Z >= hungAt
		for k := range row {
			row[k].y, row[k].hung = rows[i], hung
			row[k].h = 1
			row[k].post = inUpright(p, row[k].head, stage)
			row[k].output = outputOf(p, row[k].head)
			if gap >= 5 && rows[i]+1 < h {
				row[k].h = 2
			}
			if gap < 2 {
				row[k].label = ""
			}
		}
		if from, to := hungFrom(row, w); hung && gap >= 2 && from < to {
			bars = append(bars, bar{x: from, y: rows[i], length: to - from})
		}
		lamps = append(lamps, row...)
	}
	return lamps, append(bars, uprights(p, lamps, h)...)
}

// rowsOf gives each line a row, top to bottom. Hung lines leave room below for their
// light. Lines share a row when there are too few rows.
func rowsOf(lines []line, h int) (merged []line, rows []int) {
	hung := true
	for i := range lines {
		hung = hung && lines[i].at.Z >= hungAt
	}
	top, bottom := 1, h-2
	if hung {
		bottom = max(top, h-max(4, h/4), min(h-2, top+2*(len(lines)-1)))
	}
	for i := range lines {
		y := rowOf(i, len(lines), top, bottom, hung)
		if n := len(rows); n > 0 && rows[n-1] == y {
			m := &merged[n-1]
			m.heads = append(m.heads[:len(m.heads):len(m.heads)], lines[i].heads...)
			continue
		}
		merged = append(merged, lines[i])
		rows = append(rows, y)
	}
	return merged, rows
}

func rowOf(i, n, top, bottom int, hung bool) int {
	switch room := bottom - top; {
	case n == 1 && hung:
		return top
	case n == 1:
		return bottom
	case hung && room/(n-1) >= 1:
		return top + room/(n-1)*i
	default:
		return top + room*i/(n-1)
	}
}

func extent(p *engine.Program, lines []line) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i := range lines {
		for _, h := range lines[i].heads {
			x := across(p.Heads[h].At)
			low, high = min(low, x), max(high, x)
		}
	}
	return low, high
}

// widest is the greatest width of a lamp, in cells.
const widest = 7

// placeRow places the heads of one row as the eye sees them, and moves them apart
// where they would cover each other.
func placeRow(p *engine.Program, heads []int32, low, high float64, w int) []lamp {
	row := make([]lamp, len(heads))
	seen := make([]float64, len(heads))
	order := make([]int, len(heads))
	margin := max(2, w/12)
	inner := float64(w - 2*margin - 1)
	for i, h := range heads {
		order[i] = i
		seen[i] = float64(w-1) / 2
		if x := across(p.Heads[h].At); high > low {
			seen[i] = float64(margin) + float64((x-low)/(high-low)*inner)
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return seen[order[a]] < seen[order[b]] })
	pitch := rowPitch(order, seen, w)
	wide := min(widest, max(1, pitch-1))
	wide -= (wide + 1) % 2 // odd: a lamp has a middle cell
	wide = max(1, wide)
	for k, i := range order {
		row[k] = lamp{head: heads[i], w: wide, x: int(seen[i]+0.5) - wide/2}
		if k > 0 {
			row[k].x = max(row[k].x, row[k-1].x+min(pitch, wide+1))
		}
	}
	limit := w - wide
	for k := len(row) - 1; k >= 0; k-- { // moves lamps beyond the right edge back
		row[k].x = max(0, min(row[k].x, limit))
		limit = row[k].x - min(pitch, wide+1)
	}
	label(p, row, pitch)
	return row
}

// rowPitch is the distance between neighbouring heads, in cells: the least distance
// seen, limited by the room.
func rowPitch(order []int, seen []float64, w int) int {
	pitch := w
	for k := 1; k < len(order); k++ {
		pitch = min(pitch, int(seen[order[k]]-seen[order[k-1]]))
	}
	room := (w - 4) / max(1, len(order))
	return max(1, min(max(pitch, min(2, room)), room))
}

// label gives the lamps of a row their names if these fit side by side, else their
// numbers if these fit.
func label(p *engine.Program, row []lamp, pitch int) {
	longest, number := 0, 0
	for i := range row {
		name := p.Heads[row[i].head].Name
		longest = max(longest, columns([]byte(name)))
		number = max(number, columns([]byte(headNumber(name))))
	}
	for i := range row {
		name := p.Heads[row[i].head].Name
		switch {
		case longest < pitch || len(row) == 1:
			row[i].label = name
		case number > 0 && number < pitch:
			row[i].label = headNumber(name)
		}
	}
}
