package draw

import (
	"tactus/engine"
	"tactus/fixtures"
)

// drawApart shows what songs leave alone: front light, house light, haze; a
// block a head, then words.
func (d *Drawing) drawApart(s *engine.Snapshot) {
	c, y, x := &d.canvas, d.lay.apart, 1
	for i := range d.voices {
		v := &d.voices[i]
		if !v.apart && !v.haze {
			continue
		}
		if x > 1 {
			x += 3
		}
		d.text = v.append(d.text[:0], s.Heads)
		if x+columns(d.text)+len(v.heads)+2 >= c.w {
			c.text(x, y, c.w-1, []byte("…"), d.tone(quiet), 0)
			return
		}
		if !v.haze {
			x = d.blocks(x, y, v, s.Heads)
		}
		x = c.text(x, y, c.w-1, d.text, unset, 0)
	}
}

// blocks draws a voice's heads and returns where the words go.
func (d *Drawing) blocks(x, y int, v *voice, heads []fixtures.State) int {
	wide := 1
	if len(v.heads) <= 4 {
		wide = 2
	}
	for _, h := range v.heads {
		l := v.gives.light(&heads[h])
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

// drawWords says in words what the stage shows.
func (d *Drawing) drawWords(s *engine.Snapshot) {
	c, x := &d.canvas, 1
	for i := range d.voices {
		v := &d.voices[i]
		if v.apart || v.haze {
			continue
		}
		if x > 1 {
			x += 3
		}
		d.text = v.append(d.text[:0], s.Heads)
		if x+columns(d.text) >= c.w {
			c.text(x, d.lay.words, c.w-1, []byte("…"), d.tone(quiet), 0)
			return
		}
		x = c.text(x, d.lay.words, c.w-1, d.text, unset, 0)
	}
}
