package draw

import (
	"tactus/engine"
	"tactus/fixtures"
)

// drawGroups describes heads in row y. With apart set these are the heads that songs
// do not change (front light, house light, haze), with a block for each head; else
// all others.
func (d *Drawing) drawGroups(y int, apart bool, s *engine.Snapshot) {
	c, x := &d.canvas, 1
	for i := range d.groups {
		g := &d.groups[i]
		if (g.notInSongs || g.haze) != apart {
			continue
		}
		if x > 1 {
			x += 3
		}
		d.text = g.appendTo(d.text[:0], s.Heads)
		width := columns(d.text)
		if apart {
			width += len(g.heads) + 2
		}
		if x+width >= c.w {
			c.text(x, y, c.w-1, []byte("…"), d.tone(quiet), 0)
			return
		}
		if apart && !g.haze {
			x = d.drawBlocks(x, y, g, s.Heads)
		}
		x = c.text(x, y, c.w-1, d.text, unset, 0)
	}
}

// drawBlocks draws a block for each head of a group, and returns the next free
// column.
func (d *Drawing) drawBlocks(x, y int, g *headGroup, heads []fixtures.State) int {
	wide := 1
	if len(g.heads) <= 4 {
		wide = 2
	}
	for _, h := range g.heads {
		l := g.output.light(&heads[h])
		for range wide {
			if p := d.canvas.at(x, y); d.colour {
				p.bg = d.codes.colour(light{l[0] + body, l[1] + body, l[2] + body})
			} else {
				p.r = shadeOf(luminance(l))
			}
			x++
		}
	}
	return x + 1
}
