package plan

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/engine/night"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/limits"
)

// lightLevels measures the light of one song.
type lightLevels struct {
	night      *Night
	plan       *engine.Song
	song       Song
	run        *night.Run
	began      clock.Time // the time of the song's first frame
	last       clock.Time // the time of the frame before
	second     clock.Time // the last whole second of the song that was counted for flashes
	stage      flash.Area
	faces      flash.Area
	shares     []float64 // by head: its part of the stage's light at full; 0 for other heads
	lights     []fixtures.RGB
	before     []fixtures.OKLab // by head of the stage: its light in the frame before
	explained  []fixtures.OKLab // colours that the palette explains
	first      bool
	sums       []sums // by section
	section    int
	ownColours clock.Beat // where the fades of the song's first cues are over
	cue        int        // the next cue of the song
	fadeOver   clock.Time // when the present slow fade is over
	bar        bar

	// Limits in force.
	slowFade                              clock.Time
	litFrom, whiteChroma, paletteDistance float64
}

// bar adds up the motion of a bar. Slow fades are left out: nobody feels them as
// movement.
type bar struct {
	motion      float64
	time        clock.Time // length of the frames outside slow fades
	frames, all int        // number of frames outside slow fades, and of all frames
	end         clock.Beat
}

// sums add up the frames of a section.
type sums struct {
	columns          int
	light, faces     []float64 // luminance of each frame
	motion           []float64 // motion a second of each bar
	lit              float64
	chroma, contrast float64
	all, offPalette  float64 // all light, and light in colours that the palette does not explain
	flashes          float64
}

func newLightLevels(n *Night, index, before int32, run *night.Run) *lightLevels {
	p := n.Show.Program
	s, by := &p.Songs[index], &n.Show.Limits
	m := &lightLevels{
		slowFade: clock.Time(by.Value(limits.SlowFade) * float64(clock.Second)), litFrom: by.Share(limits.LitFrom),
		whiteChroma: by.Value(limits.WhiteChroma), paletteDistance: by.Value(limits.PaletteDistance),
		night: n, plan: s, run: run, first: true, began: run.Position().At, last: run.Position().At,
		stage: flash.NewArea("stage", n.Heads, n.Stage), faces: flash.NewArea("faces", n.Heads, n.Faces),
		shares: make([]float64, len(p.Heads)), lights: make([]fixtures.RGB, len(p.Heads)),
		before: make([]fixtures.OKLab, len(p.Heads)), sums: make([]sums, len(s.Sections)), explained: coloursOf(&s.Palette),
		song: Song{judgedBy: by, Index: index, Before: before, Name: s.Name, Length: s.Length(), Time: s.TimeAt(s.Length()), Strobe: Strobe{Head: engine.None}},
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
	for i := range s.Cues {
		if c := &s.Cues[i]; c.At <= 0 {
			m.ownColours = s.BeatAt(s.TimeAt(max(0, c.At)) + shows.FadeTime(s, c))
		}
	}
	m.listEffects()
	return m
}

// listEffects lists for each section the effects of the cues that are in force in its
// second half.
func (m *lightLevels) listEffects() {
	for i := range m.song.Sections {
		x := &m.song.Sections[i]
		for k := range m.plan.Cues {
			c := &m.plan.Cues[k]
			switch {
			case c.SendsOnly || c.At >= x.Start+x.Length:
			case c.At <= x.Start+x.Length/2:
				x.effects = [][]int32{slices.Sorted(slices.Values(c.Effects))}
			default:
				x.effects = append(x.effects, slices.Sorted(slices.Values(c.Effects)))
			}
		}
	}
}

// frame measures the light of one frame.
func (m *lightLevels) frame() {
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
			m.fadeOver = 0
			if t := shows.FadeTime(m.plan, c); t >= m.slowFade {
				m.fadeOver = m.plan.TimeAt(max(0, c.At)) + t
			}
		}
	}
	m.addMotion(m.plan.TimeAt(beat) < m.fadeOver, now-m.last)
	m.last = now
	if n := clock.Beat(len(m.song.Columns)); beat >= n*clock.Quarter/PerQuarter {
		m.addColumn(s, n*clock.Quarter/PerQuarter, light)
	}
	m.song.Frames++
	whole := now-m.began >= m.second+clock.Second
	most := 0.0
	for i := range m.song.Flashes {
		rate, f := m.run.FlashArea(i).Wanted.Rate(now), &m.song.Flashes[i]
		s.flashes = max(s.flashes, rate.Most())
		most = max(most, rate.Most())
		keepWorst(&f.General, rate[flash.General], now-m.began)
		keepWorst(&f.Red, rate[flash.Red], now-m.began)
	}
	if whole { // rates are those of the second before
		if most >= 1 {
			m.song.AllFlashes += most
		}
		m.second += clock.Second
	}
}

// keepWorst keeps the second with the most flashes, the first of equal ones.
func keepWorst(s *flash.Second, flashes float64, end clock.Time) {
	if flashes > s.Flashes {
		*s = flash.Second{Flashes: flashes, End: end}
	}
}

// addMotion adds the change since the frame before, of all heads by their share of
// the stage's light.
func (m *lightLevels) addMotion(fading bool, since clock.Time) {
	m.bar.all++
	if !fading {
		m.bar.frames++
		m.bar.time += since
	}
	for _, h := range m.stage.Heads {
		now := m.lights[h].OKLab()
		if !m.first && !fading {
			m.bar.motion += float64(m.shares[h] * now.Distance(m.before[h]))
		}
		m.before[h] = now
	}
	m.first = false
}

// endBar adds the bar's motion to its section. Each bar counts alike, so that the
// jump at the start of a section is one bar among others.
func (m *lightLevels) endBar() {
	if m.bar.time > 0 && 2*m.bar.frames >= m.bar.all {
		s := &m.sums[m.section]
		s.motion = append(s.motion, m.bar.motion/seconds(m.bar.time))
	}
	m.bar = bar{}
}

// addColumn keeps the light of a place in the song, and measures what need not be
// measured in every frame.
func (m *lightLevels) addColumn(s *sums, at clock.Beat, light float64) {
	c := Column{Beat: at, Lights: append([]fixtures.RGB(nil), m.lights...), Brightness: fixtures.Lightness(light)}
	m.song.Columns = append(m.song.Columns, c)
	s.columns++
	lit, weight := 0, 0.0
	var mean fixtures.OKLab
	for _, h := range m.stage.Heads {
		y := flash.Luminance(m.lights[h])
		if y < m.litFrom {
			continue
		}
		lit++
		w := float64(m.shares[h] * y)
		weight += w
		mean.A += float64(w * m.before[h].A)
		mean.B += float64(w * m.before[h].B)
		if at >= m.ownColours {
			m.addColour(s, m.lights[h], w)
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
		if y < m.litFrom {
			continue
		}
		w := float64(m.shares[h]*y) / weight
		s.chroma += float64(w * length(fixtures.OKLab{A: m.before[h].A, B: m.before[h].B}))
		s.contrast += float64(w * length(fixtures.OKLab{A: m.before[h].A - mean.A, B: m.before[h].B - mean.B}))
	}
}

// finished returns the song with the measures that the sums come to.
func (m *lightLevels) finished() Song {
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
			x.Away = s.offPalette / s.all
		}
		x.Strength = x.strength(m.song.judgedBy)
	}
	return m.song
}

// middle returns the interquartile mean of a sorted list: the mean of its middle
// half, where values at its edges count in part. It leaves out the fade from the
// section before and the dark beat before a lift, as a mean does not; and it does
// not pick one side of light that goes up and down, as a median does.
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

// strength returns one number, 0..10, to compare with the energy that was asked
// for: mostly brightness, then motion, then the share of heads that are lit.
func (m *Measures) strength(by *limits.Set) float64 {
	bright, moves, lit := by.Value(limits.BrightnessWeight), by.Value(limits.MotionWeight), by.Value(limits.LitWeight)
	motion := min(1, m.PerSecond/by.Value(limits.FullMotion))
	sum := float64(bright*min(100, m.Brightness)/100) + float64(moves*motion) + float64(lit*m.Share)
	return 10 * sum / (bright + moves + lit)
}
