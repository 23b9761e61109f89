package plan

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/engine/night"
	"tactus/fixtures"
)

// meter measures a song. What a frame needs is made once.
type meter struct {
	night   *Night
	plan    *engine.Song
	song    Song
	run     *night.Run
	began   clock.Time // of the song's first frame
	last    clock.Time // of the frame before
	stage   flash.Area
	faces   flash.Area
	shares  []float64 // by head: of the stage's light at full; 0 for others
	lights  []fixtures.RGB
	seen    []fixtures.OKLab // what each head of the stage showed a frame ago
	ways    []fixtures.OKLab // colours that the palette explains
	first   bool
	sums    []sums // by section
	section int
	settled clock.Beat // from where colours are the song's own
	cue     int        // the next of the song
	faded   clock.Time // when the slow fade is over
	bar     bar
}

// bar is what moved in a bar. Slow fades are left out: they are no movement.
type bar struct {
	motion      float64
	time        clock.Time // of the frames that are no slow fade
	frames, all int        // how many those are, and all
	end         clock.Beat
}

// slow is how long a fade takes that is not felt as movement (common practice, no
// source).
const slow = clock.Second

// sums are what a section's frames add up to.
type sums struct {
	columns          int
	light, faces     []float64 // luminance, of each frame
	motion           []float64 // a second, of each bar
	lit              float64
	chroma, contrast float64
	all, strange     float64 // light, and light of colours that the palette lacks
	flashes          float64
}

func newMeter(n *Night, index, before int32, run *night.Run) *meter {
	p := n.Show.Program
	s := &p.Songs[index]
	m := &meter{
		night: n, plan: s, run: run, first: true, began: run.Position().At, last: run.Position().At,
		stage: flash.NewArea("stage", n.Heads, n.Stage), faces: flash.NewArea("faces", n.Heads, n.Faces),
		shares: make([]float64, len(p.Heads)), lights: make([]fixtures.RGB, len(p.Heads)),
		seen: make([]fixtures.OKLab, len(p.Heads)), sums: make([]sums, len(s.Sections)), ways: waysOf(&s.Palette),
		song: Song{Index: index, Before: before, Name: s.Name, Length: s.Length(), Time: s.TimeAt(s.Length()), Strobe: none()},
	}
	for i, h := range m.stage.Heads {
		m.shares[h] = m.stage.Shares[i]
	}
	for i := range s.Sections {
		x := &s.Sections[i]
		m.song.Sections = append(m.song.Sections, Section{
			Index: int32(i), Name: x.Name, Start: x.Start, Length: x.Length,
			From: s.TimeAt(x.Start), To: s.TimeAt(x.Start + x.Length), Energy: x.Energy, Spoken: x.Spoken,
		})
	}
	for i := range run.FlashAreas() {
		f := run.FlashArea(i)
		m.song.Flashes = append(m.song.Flashes, Flashes{Area: f.Name, Heads: f.Heads})
	}
	columns := int(s.Length()*PerQuarter/clock.Quarter) + 1
	m.song.Columns = make([]Column, 0, columns)
	for i := range s.Cues {
		if c := &s.Cues[i]; c.At <= 0 {
			m.settled = s.BeatAt(s.TimeAt(max(0, c.At)) + takes(s, c))
		}
	}
	return m
}

// frame measures the light of one frame.
func (m *meter) frame() {
	beat, now := m.run.Beat(), m.run.Position().At
	lit := m.run.HeadStates()
	for h := range lit {
		m.lights[h] = m.night.Heads[h].Light(&lit[h])
		if hertz := m.night.Heads[h].StrobeRate(&lit[h]); hertz > m.song.Strobe.Hertz {
			m.song.Strobe = Strobe{hertz, int32(h), beat}
		}
	}
	for m.section+1 < len(m.sums) && beat >= m.song.Sections[m.section+1].Start {
		m.endBar()
		m.section++
	}
	if beat >= m.bar.end {
		m.endBar()
		m.bar.end = m.plan.NextBar(beat)
	}
	s := &m.sums[m.section]
	light, faces := flash.Luminance(m.stage.Light(m.lights)), flash.Luminance(m.faces.Light(m.lights))
	s.light = append(s.light, light)
	s.faces = append(s.faces, faces)
	for ; m.cue < len(m.plan.Cues) && m.plan.Cues[m.cue].At <= beat; m.cue++ {
		if c := &m.plan.Cues[m.cue]; !c.SendsOnly {
			m.faded = 0
			if t := takes(m.plan, c); t >= slow {
				m.faded = m.plan.TimeAt(max(0, c.At)) + t
			}
		}
	}
	m.moved(m.plan.TimeAt(beat) < m.faded, now-m.last)
	m.last = now
	if n := clock.Beat(len(m.song.Columns)); beat >= n*clock.Quarter/PerQuarter {
		m.column(s, n*clock.Quarter/PerQuarter, light)
	}
	m.song.Frames++
	for i := range m.song.Flashes {
		rate, f := m.run.FlashArea(i).Wanted.Rate(now), &m.song.Flashes[i]
		s.flashes = max(s.flashes, rate.Most())
		worst(&f.General, rate[flash.General], now-m.began)
		worst(&f.Red, rate[flash.Red], now-m.began)
	}
}

// worst keeps the second with the most flashes, the first of equal ones.
func worst(s *flash.Second, flashes float64, end clock.Time) {
	if flashes > s.Flashes {
		*s = flash.Second{Flashes: flashes, End: end}
	}
}

// moved adds what changed since the frame before, that long ago, of all heads by
// their share of the stage's light.
func (m *meter) moved(fading bool, since clock.Time) {
	m.bar.all++
	if !fading {
		m.bar.frames++
		m.bar.time += since
	}
	for _, h := range m.stage.Heads {
		now := m.lights[h].OKLab()
		if !m.first && !fading {
			d := fixtures.OKLab{L: now.L - m.seen[h].L, A: now.A - m.seen[h].A, B: now.B - m.seen[h].B}
			m.bar.motion += float64(m.shares[h] * length(d))
		}
		m.seen[h] = now
	}
	m.first = false
}

// endBar notes how much the bar moved. Each bar counts alike, so that the jump at
// the start of a section is one bar among others.
func (m *meter) endBar() {
	if m.bar.time > 0 && 2*m.bar.frames >= m.bar.all {
		s := &m.sums[m.section]
		s.motion = append(s.motion, m.bar.motion/seconds(m.bar.time))
	}
	m.bar = bar{}
}

// litFrom is the share of its own full from which a head counts as lit: below, a
// lamp glows and lights nothing (common practice, no source).
const litFrom = 0.01

// column keeps the light of a moment, and measures what need not be measured in
// every frame.
func (m *meter) column(s *sums, at clock.Beat, light float64) {
	c := Column{Beat: at, Lights: append([]fixtures.RGB(nil), m.lights...), Brightness: fixtures.Lightness(light)}
	m.song.Columns = append(m.song.Columns, c)
	s.columns++
	lit, weight := 0, 0.0
	var mean fixtures.OKLab
	for _, h := range m.stage.Heads {
		y := flash.Luminance(m.lights[h])
		if y < litFrom {
			continue
		}
		lit++
		w := float64(m.shares[h] * y)
		weight += w
		mean.A += float64(w * m.seen[h].A)
		mean.B += float64(w * m.seen[h].B)
		if at >= m.settled {
			m.away(s, m.lights[h], w)
		}
	}
	if len(m.stage.Heads) > 0 {
		s.lit += float64(lit) / float64(len(m.stage.Heads))
	}
	if weight == 0 {
		return
	}
	mean.A, mean.B = mean.A/weight, mean.B/weight
	for _, h := range m.stage.Heads {
		y := flash.Luminance(m.lights[h])
		if y < litFrom {
			continue
		}
		w := float64(m.shares[h]*y) / weight
		s.chroma += float64(w * length(fixtures.OKLab{A: m.seen[h].A, B: m.seen[h].B}))
		s.contrast += float64(w * length(fixtures.OKLab{A: m.seen[h].A - mean.A, B: m.seen[h].B - mean.B}))
	}
}

// finished turns sums into measures.
func (m *meter) finished() Song {
	m.endBar()
	for i := range m.sums {
		s, x := &m.sums[i], &m.song.Sections[i]
		if len(s.light) == 0 {
			continue
		}
		slices.Sort(s.light)
		slices.Sort(s.faces)
		slices.Sort(s.motion)
		columns := float64(max(s.columns, 1))
		beats := float64(max(1, m.plan.BeatsUntil(x.Start, x.Start+x.Length)))
		x.Measures = Measures{
			Brightness: fixtures.Lightness(middle(s.light)), Peak: fixtures.Lightness(s.light[len(s.light)-1]), Lowest: fixtures.Lightness(s.light[0]),
			Share: s.lit / columns, PerSecond: middle(s.motion),
			Chroma: s.chroma / columns, Contrast: s.contrast / columns,
			Faces: fixtures.Lightness(middle(s.faces)), FacesLow: fixtures.Lightness(s.faces[len(s.faces)/10]), Flashes: s.flashes,
		}
		x.PerBeat = x.PerSecond * seconds(x.To-x.From) / beats
		if s.all > 0 {
			x.Away = s.strange / s.all
		}
		x.Strength = x.strength()
	}
	return m.song
}

// middle returns the interquartile mean of a sorted list: the mean of its middle
// half, parts of values counting as parts. Unlike a mean it leaves out the fade
// from what was before and the dark beat before a lift, and unlike a median it
// does not take one side of light that goes up and down.
func middle(sorted []float64) float64 {
	if len(sorted) == 0 {
		return 0
	}
	low := float64(len(sorted)) / 4
	high, sum := float64(3*low), 0.0
	for i, v := range sorted {
		if w := min(float64(i+1), high) - max(float64(i), low); w > 0 {
			sum += float64(w * v)
		}
	}
	return sum / (high - low)
}

// strength is one number to hold against the energy that was asked for: mostly
// how bright it is, then how much it moves, then how many heads take part. The
// weights are ours: people judge a stage first by its brightness (common
// practice, no source). Moving by busyAt a second or more counts in full.
func (m *Measures) strength() float64 {
	const busyAt = 0.15
	return float64(6.5*m.Brightness/100) + float64(2.5*min(1, m.PerSecond/busyAt)) + float64(1*m.Share)
}
