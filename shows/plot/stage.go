package plot

import (
	"fmt"
	"math"
	"slices"

	"tactus/engine"
	"tactus/shows"
	"tactus/shows/sheet"
)

// Stage draws the rig from above: the audience below, the back of the stage
// above, as one who looks at the stage reads it. Heads stand where the rig file
// says; those that hang over one another share a symbol.
func Stage(s *shows.Show, p sheet.Paper) *sheet.Sheet {
	d := ground{Sheet: sheet.New(p, s.Venue+", stage plan", fmt.Sprintf("%s from above: %d heads with their universes and addresses, in metres from the middle of the front of the stage.", s.Venue, len(s.Program.Heads))), show: s}
	d.Bold(edge, edge+5.5, 6, sheet.Start, sheet.Black, d.Fits(s.Venue, 6, 180, true))
	d.Words(edge, edge+10.3, 3, sheet.Start, sheet.Dim, "stage plan, from above; metres")
	d.Bold(p.W-edge, edge+5, 3.6, sheet.End, sheet.Black, d.Fits(s.Program.Name, 3.6, 80, true))
	d.spots(s)
	d.types, d.universes = typesOf(s), usedUniverses(s)
	left := d.table(edge+14, p.H-edge)
	d.frame(edge+14, p.H-edge-8, left-8)
	d.drawGrid()
	d.trusses()
	d.heads()
	return d.Sheet
}

// ground is a stage plan while it is drawn.
type ground struct {
	*sheet.Sheet
	show       *shows.Show
	spot       []spot
	types      []fixtureType
	universes  []int // those with fixtures, by the engine's index
	taken      []box // where no label may stand
	unplaced   int   // heads without a place
	low, high  engine.Point
	x, y       float64 // where house left and the back are
	scale      float64 // millimetres a metre
	wide, tall float64
}

// spot is a place with the heads that hang there.
type spot struct {
	at    engine.Point
	heads []int32
	group string
}

// spots gathers heads by place. The file has no places for heads that stand at
// 0, 0, 0 exactly: those are only in the table.
func (d *ground) spots(s *shows.Show) {
	for _, r := range headRows(s) {
		at := s.Program.Heads[r.heads[0]].At
		if !hasPlace(at) {
			d.unplaced++
			continue
		}
		i := slices.IndexFunc(d.spot, func(o spot) bool {
			return math.Abs(o.at.X-at.X) < 0.05 && math.Abs(o.at.Y-at.Y) < 0.05
		})
		if i < 0 {
			d.spot = append(d.spot, spot{at: at, group: r.group})
			i = len(d.spot) - 1
		}
		d.spot[i].heads = append(d.spot[i].heads, r.heads[0])
	}
}

// hasPlace reports whether a head has a place on a plan.
func hasPlace(p engine.Point) bool {
	for _, v := range []float64{p.X, p.Y, p.Z} {
		if math.IsNaN(v) || math.Abs(v) > 1000 {
			return false
		}
	}
	return p != engine.Point{}
}

// frame finds the scale that holds all heads, the front of the stage, and a
// bit around, left of the table.
func (d *ground) frame(top, bottom, right float64) {
	d.low, d.high = engine.Point{X: -1, Y: -1}, engine.Point{X: 1, Y: 2}
	for _, o := range d.spot {
		d.low.X, d.high.X = min(d.low.X, o.at.X), max(d.high.X, o.at.X)
		d.low.Y, d.high.Y = min(d.low.Y, o.at.Y), max(d.high.Y, o.at.Y)
	}
	d.low.X, d.low.Y, d.high.X, d.high.Y = math.Floor(d.low.X)-2, math.Floor(d.low.Y)-1, math.Ceil(d.high.X)+2, math.Ceil(d.high.Y)+1
	room, tall := right-edge-4, bottom-top
	across, deep := d.high.X-d.low.X, d.high.Y-d.low.Y
	d.scale = min(room/across, tall/deep)
	if more := leastWide/d.scale - across; more > 0 {
		d.low.X, d.high.X, across = d.low.X-more/2, d.high.X+more/2, across+more
	}
	if more := leastTall/d.scale - deep; more > 0 {
		d.low.Y, d.high.Y, deep = d.low.Y-more/2, d.high.Y+more/2, deep+more
	}
	d.wide, d.tall = float64(across*d.scale), float64(deep*d.scale)
	d.x, d.y = edge+4+(room-d.wide)/2, top
}

// The least size of a plan in millimetres, for the words around it.
const (
	leastWide = 60.0
	leastTall = 30.0
)

// paperPoint returns the point on paper of a place on the stage.
func (d *ground) paperPoint(p engine.Point) (x, y float64) {
	return d.x + float64((p.X-d.low.X)*d.scale), d.y + float64((d.high.Y-p.Y)*d.scale)
}

// drawGrid draws a line for each metre, and marks the front of the stage.
func (d *ground) drawGrid() {
	step := 1.0
	for float64(step*d.scale) < 7 {
		step *= 5
	}
	left, top := d.paperPoint(engine.Point{X: d.low.X, Y: d.high.Y})
	right, foot := d.paperPoint(engine.Point{X: d.high.X, Y: d.low.Y})
	_, front := d.paperPoint(engine.Point{})
	d.Rect(left, top, d.wide, front-top, 0xf4f4f4)
	for m := math.Ceil(d.low.X/step) * step; m <= d.high.X; m += step {
		x, _ := d.paperPoint(engine.Point{X: m})
		d.Line(x, top, x, foot, 0.1, 0xcccccc)
		d.Words(x, foot+3, 2.2, sheet.Middle, sheet.Dim, metres(m))
	}
	for m := math.Ceil(d.low.Y/step) * step; m <= d.high.Y; m += step {
		_, y := d.paperPoint(engine.Point{Y: m})
		d.Line(left, y, right, y, 0.1, 0xcccccc)
		d.Words(left-1, y+0.8, 2.2, sheet.End, sheet.Dim, metres(m))
	}
	middleX, _ := d.paperPoint(engine.Point{})
	d.Dashed(middleX, top, middleX, foot, 0.2, 2, sheet.Dim)
	d.Line(left, front, right, front, 0.9, sheet.Black)
	d.taken = append(d.taken, box{left, front - 0.7, right, front + 0.7})
	d.Bold(left, foot+7.5, 3, sheet.Start, sheet.Black, "house left")
	d.Bold((left+right)/2, foot+7.5, 3, sheet.Middle, sheet.Black, "audience")
	d.Bold(right, foot+7.5, 3, sheet.End, sheet.Black, "house right")
}

func metres(m float64) string {
	if m == 0 {
		return "0"
	}
	return itoa(int(math.Round(m)))
}

// trusses joins the heads of a group.
func (d *ground) trusses() {
	for i, o := range d.spot {
		if o.group == "" || i+1 == len(d.spot) || d.spot[i+1].group != o.group {
			continue
		}
		x, y := d.paperPoint(o.at)
		x1, y1 := d.paperPoint(d.spot[i+1].at)
		d.Line(x, y, x1, y1, 1.6, 0xbbbbbb)
		steps := int(math.Hypot(x1-x, y1-y)/1.5) + 1
		for n := range steps {
			share := float64(n) / float64(steps)
			cx, cy := x+float64((x1-x)*share), y+float64((y1-y)*share)
			d.taken = append(d.taken, box{cx - 0.9, cy - 0.9, cx + 0.9, cy + 0.9})
		}
	}
}

// heads draws the symbols, and as many labels as have room: the groups' names, and
// each head's name, address and height. The table has all of them.
func (d *ground) heads() {
	near := d.scale * 40
	for i := range d.spot {
		for j := range d.spot[:i] {
			x, y := d.paperPoint(d.spot[i].at)
			x1, y1 := d.paperPoint(d.spot[j].at)
			near = min(near, math.Hypot(x-x1, y-y1))
		}
	}
	r := min(2.2, near/2.5)
	for _, o := range d.spot {
		x, y := d.paperPoint(o.at)
		d.symbol(x, y, r, d.typeOf(o.heads[0]))
		d.taken = append(d.taken, box{x - r - 0.3, y - r - 0.3, x + r + 0.3, y + r + 0.3})
	}
	d.nameFrontAndBack()
	for i, o := range d.spot {
		if o.group != "" && !slices.ContainsFunc(d.spot[:i], func(p spot) bool { return p.group == o.group }) {
			x, y := d.paperPoint(o.at)
			d.writeBeside(x, y, r, []label{{d.Fits(o.group, 2.7, 40, true), 2.7, true}}, leftOf, above, rightOf)
		}
	}
	for _, o := range d.spot {
		d.headLabels(&o, r)
	}
}

// nameFrontAndBack writes the names of the front and the back of the stage, each where
// there is room, looking from the right and from the left.
func (d *ground) nameFrontAndBack() {
	_, line := d.paperPoint(engine.Point{})
	front, back := []label{{"front of the stage", 2.7, true}}, []label{{"back of the stage", 2.3, false}}
	right, left := d.x+d.wide-1, d.x+1
	if !d.writeAlong(right, -2, line-4, sheet.End, front) {
		d.writeAlong(right, -2, line+0.9, sheet.End, front)
	}
	d.writeAlong(left, 2, d.y+0.6, sheet.Start, back)
}

// writeAlong writes labels at the first free place from x on, in steps.
func (d *ground) writeAlong(x, step, top float64, at sheet.Side, lines []label) bool {
	for ; x > d.x && x < d.x+d.wide; x += step {
		if d.writeBlock(x, top, at, lines) {
			return true
		}
	}
	return false
}

// headLabels writes the names, addresses and heights of a spot's heads where there is
// room for them, or the names alone.
func (d *ground) headLabels(o *spot, r float64) {
	var full, names []label
	for i, h := range o.heads {
		if i == 4 {
			more := label{itoa(len(o.heads)-i) + " more", 2.2, false}
			full, names = append(full, more), append(names, more)
			break
		}
		name := label{d.Fits(d.show.Program.Heads[h].Name, 2.5, 30, true), 2.5, true}
		full = append(full, name, label{d.Fits(d.addressWords(h)+" at "+height(d.show.Program.Heads[h].At.Z), 2.2, 30, false), 2.2, false})
		names = append(names, name)
	}
	x, y := d.paperPoint(o.at)
	if !d.writeBeside(x, y, r, full, below, above, rightOf, leftOf) {
		d.writeBeside(x, y, r, names, below, above, rightOf, leftOf)
	}
}

func height(z float64) string { return fmt.Sprintf("%.1f m", z) }

// table lists every head at the right, as many as fit, over the keys of the universes and
// the symbols. It returns where it begins.
func (d *ground) table(top, bottom float64) float64 {
	const wide, high = 74.0, 3.7
	all := headRows(d.show)
	keyTop := bottom - 10 - d.keyHigh()
	universesTop := keyTop - 3 - d.universeKeyHigh()
	rows := int((universesTop - top - 8) / high)
	columns := min(2, (len(all)+rows-1)/rows)
	left := d.Paper.W - edge - float64(wide*float64(columns))
	for i, r := range all[:min(len(all), columns*rows)] {
		x, y := left+float64(wide*float64(i/rows)), top+7+float64(high*float64(i%rows))
		h := &d.show.Program.Heads[r.heads[0]]
		if i%rows == 0 {
			for j, title := range []string{"head", d.addressTitle(), "height", "group"} {
				d.Bold(x+[...]float64{4.4, 25, 45, 55}[j], top+2, 2.2, sheet.Start, sheet.Black, title)
			}
			d.Line(x, top+3.2, x+wide-3, top+3.2, 0.3, sheet.Strong)
		}
		d.symbol(x+1.6, y-0.8, 1.4, d.typeOf(r.heads[0]))
		d.Bold(x+4.4, y, 2.4, sheet.Start, sheet.Black, d.Fits(h.Name, 2.4, 20, true))
		d.Words(x+25, y, 2.4, sheet.Start, sheet.Black, d.Fits(d.addressWords(r.heads[0]), 2.4, 19, false))
		if hasPlace(h.At) {
			d.Words(x+45, y, 2.4, sheet.Start, sheet.Black, height(h.At.Z))
		}
		d.Words(x+55, y, 2.4, sheet.Start, sheet.Dim, d.Fits(r.group, 2.4, wide-56, false))
	}
	d.universeKey(left, universesTop, wide)
	d.key(left, keyTop, wide)
	y := bottom - 3
	if rest := len(all) - columns*rows; rest > 0 {
		d.Bold(left, y, 2.5, sheet.Start, sheet.Black, itoa(rest)+" more: tactus patch prints them all")
		y -= 3.5
	}
	if d.unplaced > 0 {
		d.Words(left, y, 2.5, sheet.Start, sheet.Black, itoa(d.unplaced)+" of them have no place in the rig file")
	}
	return left
}
