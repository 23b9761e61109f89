package plan

import (
	"math"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/limits"
)

// character adds up what the columns of a song say of its [Traits].
type character struct {
	night       *Night
	plan        *engine.Song
	song        *Song
	stage       flash.Area
	front, back flash.Area
	pairs       [][2]int // heads that mirror each other, as places in stage.Heads

	now, before []fixtures.OKLab // by place in stage.Heads: light of a column and of the one before
	level       float64          // change of level, summed over the second half of each section
	colour      float64          // and change of colour
	moved       int              // steps from column to column in these sums
	unlike, all float64          // light in which mirrored heads differ, and all of theirs
	frontBack   float64          // difference in L*, summed over columns
	white       float64          // nearly white light
	whiteB      float64          // and its Oklab b divided by L
	hues        [hueParts]hueLight
	steps       []float64 // by column: change since the column before, by heads' share of light
}

const (
	// hueParts is the number of parts that the circle of hues is cut into, 15 degrees each.
	hueParts = 24
	// nearlyWhite is the highest Oklab chroma, divided by L, of light that is called a
	// warm or cold white: that of 2700 K beside a white of 5600 K.
	nearlyWhite = 0.16
	// leastChroma is the least chroma, divided by L, of light that has a hue: most people
	// see white below it (common practice, no source).
	leastChroma = 0.04
	// leastStep is the change from column to column below which light stands still.
	leastStep = 0.0005
	// mirrorWithin is how far from its mirrored place a head may hang, in metres.
	mirrorWithin = 0.5
	// endBars is how many bars before the last one its light is compared with.
	endBars = 4
)

// hueLight adds up the light of one part of the circle of hues, and its a and b.
type hueLight struct{ light, a, b float64 }

// Traits returns the character of a measured song.
func (n *Night) Traits(s *Song) Traits {
	if s.traits == nil {
		return n.measureTraits(s)
	}
	return *s.traits
}

func (n *Night) measureTraits(s *Song) Traits {
	if len(s.Columns) == 0 || len(s.Sections) == 0 {
		return Traits{}
	}
	c := character{
		night: n, plan: &n.Show.Program.Songs[s.Index], song: s, stage: flash.NewArea("stage", n.Heads, n.Stage),
		now: make([]fixtures.OKLab, len(n.Stage)), before: make([]fixtures.OKLab, len(n.Stage)), steps: make([]float64, len(s.Columns)),
	}
	c.place()
	section := 0
	for i := range s.Columns {
		for section+1 < len(s.Sections) && s.Columns[i].Beat >= s.Sections[section+1].Start {
			section++
		}
		c.addColumn(i, &s.Sections[section])
	}
	return c.traits()
}

// place finds the mirrored pairs of heads and the front and back half of the stage.
func (c *character) place() {
	heads := c.night.Show.Program.Heads
	left, right, near, far := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, h := range c.stage.Heads {
		p := heads[h].At
		left, right, near, far = min(left, p.X), max(right, p.X), min(near, p.Y), max(far, p.Y)
	}
	for i, h := range c.stage.Heads {
		p := heads[h].At
		best, distance := -1, mirrorWithin
		for k, o := range c.stage.Heads {
			q := heads[o].At
			d := math.Hypot(math.Hypot(left+right-p.X-q.X, p.Y-q.Y), p.Z-q.Z)
			if q.X > p.X && d < distance {
				best, distance = k, d
			}
		}
		if best >= 0 && p.X < (left+right)/2 {
			c.pairs = append(c.pairs, [2]int{i, best})
		}
	}
	var front, back []int32
	for _, h := range c.stage.Heads {
		if heads[h].At.Y < (near+far)/2 {
			front = append(front, h)
		} else {
			back = append(back, h)
		}
	}
	c.front, c.back = flash.NewArea("front", c.night.Heads, front), flash.NewArea("back", c.night.Heads, back)
}

// addColumn adds the light of one column.
func (c *character) addColumn(i int, x *Section) {
	at := &c.song.Columns[i]
	c.now, c.before = c.before, c.now
	settled := at.Beat > x.Start+x.Length/2
	for k, h := range c.stage.Heads {
		share := c.stage.Shares[k]
		c.now[k] = at.Lights[h].OKLab()
		c.addHue(c.now[k], share)
		if i == 0 {
			continue
		}
		c.steps[i] += float64(share * c.now[k].Distance(c.before[k]))
		if settled {
			level, colour := change(c.before[k], c.now[k])
			c.level += float64(share * level)
			c.colour += float64(share * colour)
		}
	}
	if settled && i > 0 {
		c.moved++
	}
	for _, p := range c.pairs {
		a, b := c.now[p[0]], c.now[p[1]]
		c.unlike += a.Distance(b)
		c.all += length(a) + length(b)
	}
	if len(c.front.Heads) > 0 && len(c.back.Heads) > 0 {
		front, back := flash.Luminance(c.front.Light(at.Lights)), flash.Luminance(c.back.Light(at.Lights))
		c.frontBack += math.Abs(fixtures.Lightness(front) - fixtures.Lightness(back))
	}
}

// change splits a change of light into level and colour. Light that is only dimmed
// keeps a and b in proportion to L.
func change(a, b fixtures.OKLab) (level, colour float64) {
	level = math.Abs(b.L - a.L)
	if a.L > 0 && b.L > 0 {
		colour = float64(min(a.L, b.L) * math.Hypot(b.A/b.L-a.A/a.L, b.B/b.L-a.B/a.L))
	}
	return level, colour
}

// addHue adds the light of a head, by its lightness, to the whites or to its hue.
func (c *character) addHue(light fixtures.OKLab, share float64) {
	if light.L <= 0 {
		return
	}
	a, b, w := light.A/light.L, light.B/light.L, float64(share*light.L)
	chroma := math.Hypot(a, b)
	if chroma <= nearlyWhite {
		c.white += w
		c.whiteB += float64(w * b)
	}
	if chroma < leastChroma {
		return
	}
	part := int(math.Floor(degrees(a, b)*hueParts/360)) % hueParts
	h := &c.hues[part]
	h.light += w
	h.a += float64(w * a)
	h.b += float64(w * b)
}

// degrees returns a hue, 0 up to 360.
func degrees(a, b float64) float64 {
	d := math.Atan2(b, a) * 180 / math.Pi
	if d < 0 {
		d += 360
	}
	return d
}

// mainHue returns the hue and the chroma of the three neighbouring parts of the circle
// that have the most colour: light times chroma.
func (c *character) mainHue() (hue, chroma float64) {
	var most hueLight
	for i := range c.hues {
		var sum hueLight
		for k := range 3 {
			h := &c.hues[(i+k)%hueParts]
			sum.light, sum.a, sum.b = sum.light+h.light, sum.a+h.a, sum.b+h.b
		}
		if math.Hypot(sum.a, sum.b) > math.Hypot(most.a, most.b) {
			most = sum
		}
	}
	if most.light == 0 {
		return 0, 0
	}
	return degrees(most.a, most.b), math.Hypot(most.a, most.b) / most.light
}

// traits returns what the sums come to.
func (c *character) traits() Traits {
	t := Traits{Symmetry: 1}
	dark, bright, all := math.Inf(1), 0.0, 0.0
	for i := range c.song.Sections {
		x := &c.song.Sections[i]
		w := float64(x.Length)
		all += w
		t.Motion += float64(w * x.PerBeat)
		t.Brightness += float64(w * x.Brightness)
		t.Lit += float64(w * x.Share)
		dark, bright = min(dark, x.Brightness), max(bright, x.Brightness)
	}
	t.Motion, t.Brightness, t.Lit = round(t.Motion/all, 1000), round(t.Brightness/all, 10), round(t.Lit/all, 100)
	t.Range = round(bright-dark, 10)
	if both := c.level + c.colour; c.moved > 0 && both/float64(c.moved) > leastStep {
		t.ColourMotion = round(c.colour/both, 100)
	}
	if c.all > 0 {
		t.Symmetry = round(1-c.unlike/c.all, 100)
	}
	t.FrontBack = round(c.frontBack/float64(len(c.song.Columns)), 10)
	if c.white > 0 {
		t.Warmth = round(c.whiteB/c.white, 1000)
	}
	hue, chroma := c.mainHue()
	t.Hue, t.Chroma = math.Mod(round(hue, 1), 360), round(chroma, 1000)
	t.Abruptness = round(c.abruptness(), 100)
	t.Breaths = float64(c.breaths())
	c.end(&t)
	t.Effects = round(c.effects(), 100)
	return t
}

// abruptness returns the share of the change from section to section that happens
// within a beat. Motion as in the second half of a section is taken off.
func (c *character) abruptness() float64 {
	within, all, k := 0.0, 0.0, 0
	for i := range c.song.Sections {
		x := &c.song.Sections[i]
		beat := c.plan.MeterAt(x.Start).Beat()
		var first, half, rest float64 // change within a beat, in the first half, and in the second
		var nFirst, nHalf, nRest float64
		for ; k < len(c.song.Columns) && c.song.Columns[k].Beat < x.Start+x.Length; k++ {
			switch after := c.song.Columns[k].Beat - x.Start; {
			case after >= x.Length/2:
				rest, nRest = rest+c.steps[k], nRest+1
			case after < beat:
				first, nFirst = first+c.steps[k], nFirst+1
				fallthrough
			default:
				half, nHalf = half+c.steps[k], nHalf+1
			}
		}
		if i == 0 || nRest == 0 {
			continue
		}
		first = max(0, first-float64(nFirst*rest)/nRest)
		half = max(first, half-float64(nHalf*rest)/nRest)
		within, all = within+first, all+half
	}
	if all < leastStep {
		return 0
	}
	return within / all
}

// breaths counts the stretches in which the stage is dark, after light and before it.
func (c *character) breaths() (n int) {
	lit, out, dark := false, false, c.song.judgedBy.Value(limits.DarkLevel)
	for i := range c.song.Columns {
		switch {
		case c.song.Columns[i].Brightness < dark:
			out = lit
		default:
			if out {
				n++
			}
			lit, out = true, false
		}
	}
	return n
}

// end measures how the song ends.
func (c *character) end(t *Traits) {
	last := c.song.Length - 1
	bar, beat := c.plan.MeterAt(last).Bar(), c.plan.MeterAt(last).Beat()
	mean := func(from, to clock.Beat) (sum float64) {
		n := 0.0
		for i := len(c.song.Columns) - 1; i >= 0 && c.song.Columns[i].Beat >= from; i-- {
			if c.song.Columns[i].Beat < to {
				sum, n = sum+c.song.Columns[i].Brightness, n+1
			}
		}
		return sum / max(1, n)
	}
	if before := mean(c.song.Length-(endBars+1)*bar, c.song.Length-bar); before > 0 {
		t.LastBar = round(min(1, mean(c.song.Length-bar, c.song.Length)/before), 100)
		t.LastBeat = round(min(1, mean(c.song.Length-beat, c.song.Length)/before), 100)
	}
	t.After = 1
	for i := range c.plan.Cues {
		if q := &c.plan.Cues[i]; !q.SendsOnly {
			t.After = 1
			if shows.IsDark(c.night.Show.Program, q) {
				t.After = 0
			}
		}
	}
}

// effects returns the mean number of effects at once.
func (c *character) effects() float64 {
	sum, from, count := 0.0, clock.Beat(0), 0
	for i := range c.plan.Cues {
		q := &c.plan.Cues[i]
		if q.SendsOnly {
			continue
		}
		if at := min(max(q.At, 0), c.song.Length); at > from {
			sum += float64(float64(at-from) * float64(count))
			from = at
		}
		count = len(q.Effects)
	}
	sum += float64(float64(c.song.Length-from) * float64(count))
	return sum / float64(c.song.Length)
}
