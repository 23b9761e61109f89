package draw

import (
	"math"

	"tactus/engine"
)

// bar is a pipe that carries lamps: part of a row of the stage, or of a column.
type bar struct {
	x, y    int
	length  int
	upright bool
}

// inUpright reports whether a head has another above or below it, as in an
// upright truss.
func inUpright(p *engine.Program, h int32, heads []int32) bool {
	at := p.Heads[h].At
	for _, o := range heads {
		b := p.Heads[o].At
		if math.Abs(at.X-b.X) < apartBy && math.Abs(at.Y-b.Y) < apartBy && math.Abs(at.Z-b.Z) > apartBy {
			return true
		}
	}
	return false
}

// uprights returns a bar for each column of lamps above each other.
func uprights(p *engine.Program, lamps []lamp, h int) (bars []bar) {
	for i := range lamps {
		l := &lamps[i]
		if !l.post {
			continue
		}
		first := true
		for k := range lamps[:i] {
			o := &lamps[k]
			first = first && !(o.post && inUpright(p, l.head, []int32{o.head}))
		}
		if first {
			bars = append(bars, bar{x: l.x + l.w/2, y: l.y, length: h - 2 - l.y, upright: true})
		}
	}
	return bars
}

// hungFrom returns the columns of a row's bar; from is not below to when all lamps
// are on uprights.
func hungFrom(row []lamp, w int) (from, to int) {
	from = w
	for i := range row {
		if !row[i].post {
			from, to = min(from, row[i].x-2), max(to, row[i].x+row[i].w+2)
		}
	}
	return max(0, from), min(w, to)
}
