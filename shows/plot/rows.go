package plot

import (
	"slices"
	"strconv"

	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/sheet"
)

func itoa(n int) string { return strconv.Itoa(n) }

// row is a line of a score: a head, or the heads of a group together.
type row struct {
	name, group string
	heads       []int32
}

// headRows lists a row for each head: the groups as the rig lists them, each head
// in the smallest group that it belongs to, and heads without a group last.
func headRows(s *shows.Show) (rows []row) {
	home := make([]int, len(s.Program.Heads))
	for h := range home {
		home[h] = -1
	}
	for i, g := range s.Groups {
		for _, h := range g.Heads {
			if was := home[h]; was < 0 || len(g.Heads) < len(s.Groups[was].Heads) {
				home[h] = i
			}
		}
	}
	add := func(group int, name string) {
		for h := range home {
			if home[h] == group {
				rows = append(rows, row{s.Program.Heads[h].Name, name, []int32{int32(h)}})
			}
		}
	}
	for i, g := range s.Groups {
		add(i, g.Name)
	}
	add(-1, "")
	return rows
}

// groupRows joins the rows of a group into one, with the group's name.
func groupRows(rows []row) (joined []row) {
	for _, r := range rows {
		if n := len(joined); n > 0 && r.group != "" && joined[n-1].group == r.group {
			joined[n-1].heads = slices.Concat(joined[n-1].heads, r.heads)
			continue
		}
		if r.group != "" {
			r.name = r.group
		}
		joined = append(joined, r)
	}
	return joined
}

// band draws a row's light along the song in steps: as far above and below a line as
// the heads are bright on average, room at full.
func (d *score) band(r *row, middle, room float64, steps int) {
	n := len(d.columns)
	if n == 0 {
		return
	}
	steps = min(n, max(1, steps))
	b := sheet.Band{X: d.time.x, Y: middle, Step: d.time.wide / float64(steps)}
	for step := range steps {
		sum, hue, count := 0.0, fixtures.RGB{}, 0
		for _, c := range d.columns[step*n/steps : (step+1)*n/steps] {
			for _, h := range r.heads {
				sum += min(1, max(0, fixtures.Lightness(flash.Luminance(c.Lights[h]))/100))
				for k := range hue {
					hue[k] += c.Lights[h][k]
				}
				count++
			}
		}
		b.Half = append(b.Half, room*sum/float64(count))
		b.Ink = append(b.Ink, sheet.InkOf(hue))
	}
	d.Put(b)
}
