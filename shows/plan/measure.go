package plan

import (
	"context"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
)

// Options say how a set is measured.
type Options struct {
	// Songs are indexes of Program.Songs; nil: those of the set, each once.
	Songs []int32
	// Progress is told how many seconds of music have been measured; or nil.
	Progress func(done, all clock.Time)
}

// Measure plays songs as planned and measures their light. Each begins as the
// first of a night: after the walk-in look. It ends early with ctx's error.
func Measure(ctx context.Context, show *shows.Show, o Options) (*Night, error) {
	p := show.Program
	n := &Night{Show: show, Heads: flash.Heads(p.Patch)}
	for h := range p.Heads {
		switch head := &p.Heads[h]; {
		case n.Heads[h].Flux == 0 || head.House:
		case head.Keep:
			n.Faces = append(n.Faces, int32(h))
		default:
			n.Stage = append(n.Stage, int32(h))
		}
	}
	songs := o.Songs
	if songs == nil {
		songs = once(p.SetList)
	}
	all, done := clock.Time(0), clock.Time(0)
	for _, s := range songs {
		all += p.Songs[s].TimeAt(p.Songs[s].Length())
	}
	for _, s := range songs {
		m := newMeter(n, s)
		err := m.run(ctx, func(t clock.Time) {
			if o.Progress != nil {
				o.Progress(done+t, all)
			}
		})
		if err != nil {
			return nil, err
		}
		done += m.song.Time
		n.Songs = append(n.Songs, m.song)
	}
	return n, nil
}

// once drops what comes again.
func once(list []int32) (out []int32) {
	seen := map[int32]bool{}
	for _, s := range list {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// meter measures a song. What a frame needs is made once.
type meter struct {
	night   *Night
	plan    *engine.Song
	song    Song
	engine  *engine.Engine
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
	frames, all int // that are no slow fade
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

func newMeter(n *Night, index int32) *meter {
	p := n.Show.Program
	s := &p.Songs[index]
	m := &meter{
		night: n, plan: s, engine: engine.New(p), first: true,
		stage: flash.NewArea("stage", n.Heads, n.Stage), faces: flash.NewArea("faces", n.Heads, n.Faces),
		shares: make([]float64, len(p.Heads)), lights: make([]fixtures.RGB, len(p.Heads)),
		seen: make([]fixtures.OKLab, len(p.Heads)), sums: make([]sums, len(s.Sections)), ways: waysOf(&s.Palette),
		song: Song{Index: index, Name: s.Name, Length: s.Length(), Time: s.TimeAt(s.Length()), Strobe: none()},
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
	columns := int(s.Length()*PerQuarter/clock.Quarter) + 1
	m.song.Columns = make([]Column, 0, columns)
	for i := range s.Cues {
		if c := &s.Cues[i]; c.At <= 0 {
			m.settled = s.BeatAt(s.TimeAt(max(0, c.At)) + takes(s, c))
		}
	}
	return m
}

// run plays the song from its first downbeat to its end.
func (m *meter) run(ctx context.Context, progress func(clock.Time)) error {
	const settle = 10 * clock.Second // of the walk-in look
	pos := clock.Position{At: clock.Second, Tempo: m.plan.Tempo}
	m.engine.Frame(pos)
	pos.At += settle
	m.engine.Frame(pos)
	began := pos.At
	m.engine.Do(engine.Command{Kind: engine.SelectSong, Index: m.song.Index}, pos)
	pos.Playing = true
	pos.Jumps++
	entered := 0
	for i := range int(m.song.Time*Rate/clock.Second) + 1 {
		t := clock.Time(i) * clock.Second / Rate
		if i%(Rate*4) == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
			progress(t)
		}
		pos.At = began + t
		pos.Beat = m.plan.BeatAt(t)
		if pos.Beat >= m.song.Length {
			break
		}
		entered = m.enter(entered, began, pos)
		pos.Pulse, pos.Tempo = pos.Beat, m.plan.TempoAt(pos.Beat)
		m.engine.Frame(pos)
		m.frame(pos)
	}
	m.finish(began)
	progress(m.song.Time)
	return nil
}

// enter enters the sections that have begun by pos after one that would go round
// until somebody does, as the plan has it: on their first downbeat.
func (m *meter) enter(entered int, began clock.Time, pos clock.Position) int {
	for next := entered + 1; next < len(m.song.Sections) && pos.Beat >= m.song.Sections[next].Start; next++ {
		entered = next
		if !m.plan.Sections[next-1].Loop {
			continue
		}
		at := m.song.Sections[next].Start
		pos.At, pos.Beat, pos.Pulse, pos.Tempo = began+m.plan.TimeAt(at), at, at, m.plan.TempoAt(at)
		m.engine.Do(engine.Command{Kind: engine.FireSection, Index: int32(next)}, pos)
	}
	return entered
}

// frame measures the light of one frame.
func (m *meter) frame(pos clock.Position) {
	beat := pos.Beat
	lit := m.engine.Lit()
	for h := range lit {
		m.lights[h] = m.night.Heads[h].Light(&lit[h])
		if hertz := m.night.Heads[h].Rate(&lit[h]); hertz > m.song.Strobe.Hertz {
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
	light, faces := flash.Luminance(m.stage.Sum(m.lights)), flash.Luminance(m.faces.Sum(m.lights))
	s.light = append(s.light, light)
	s.faces = append(s.faces, faces)
	for ; m.cue < len(m.plan.Cues) && m.plan.Cues[m.cue].At <= beat; m.cue++ {
		if c := &m.plan.Cues[m.cue]; !c.Only {
			m.faded = 0
			if t := takes(m.plan, c); t >= slow {
				m.faded = m.plan.TimeAt(max(0, c.At)) + t
			}
		}
	}
	m.moved(m.plan.TimeAt(beat) < m.faded)
	if n := clock.Beat(len(m.song.Columns)); beat >= n*clock.Quarter/PerQuarter {
		m.column(s, n*clock.Quarter/PerQuarter, light)
	}
	m.song.Frames++
	for i := range m.engine.Flashings() {
		f := m.engine.Flashing(i)
		s.flashes = max(s.flashes, f.Asked.Rate(pos.At).Most())
	}
}

// moved adds what changed since the frame before, of all heads by their share of
// the stage's light.
func (m *meter) moved(fading bool) {
	m.bar.all++
	if !fading {
		m.bar.frames++
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
	if m.bar.frames > 0 && 2*m.bar.frames >= m.bar.all {
		s := &m.sums[m.section]
		s.motion = append(s.motion, m.bar.motion*Rate/float64(m.bar.frames))
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

// finish turns sums into measures.
func (m *meter) finish(began clock.Time) {
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
	for i := range m.engine.Flashings() {
		f := m.engine.Flashing(i)
		w := Flashes{Area: f.Name, Heads: f.Heads, General: f.Asked.Worst(flash.General), Red: f.Asked.Worst(flash.Red)}
		w.General.End -= began
		w.Red.End -= began
		m.song.Flashes = append(m.song.Flashes, w)
	}
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
