package shows

import (
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
)

// joinSpan is the share of a build that each head takes to grow where they do so one
// after another.
const joinSpan = 0.5

// setBuild begins, continues or ends the build of a section at a cue.
func (t *cueBuilder) setBuild(s sheet) {
	if t.build != nil && (s.at >= t.build.Until || s.pickup > 0) {
		t.build = nil // of the section before
	}
	v := s.v.Get("build")
	switch {
	case v == nil:
	case v.Word() == "none":
		t.build = nil
	default:
		t.build = t.c.buildOf(t.song, s.at, v)
	}
}

// buildOf compiles a build from a place in the song to the end of its section; nil
// outside sections.
func (c *compiler) buildOf(song *engine.Song, at clock.Beat, v *language.Value) *engine.Build {
	i := slices.IndexFunc(song.Sections, func(s engine.Section) bool { return at >= s.Start && at < s.Start+s.Length })
	if i < 0 {
		if at >= 0 { // else the place is a fault already
			c.At(v, "a build needs a section to grow in", "give it to a section, or to a cue inside one", "")
		}
		return nil
	}
	b := &engine.Build{From: at, Until: song.Sections[i].Start + song.Sections[i].Length, Low: 0.35, Depth: 0.5}
	path := engine.BackFront
	if v.Entries == nil {
		b.Ebbs = v.Word() == "ebb"
	} else {
		b.Ebbs = v.Get("goes").Word() == "ebb"
		b.Low, b.Depth = v.Get("from").Share(b.Low), v.Get("depth").Share(b.Depth)
		b.DoubleTime = v.Get("double time").IsYes(false)
		if p := v.Get("path"); p != nil {
			path, _ = engine.PathByName(p.Text)
		}
	}
	_, bar, _ := song.BarAt(b.From + (b.Until-b.From)/2)
	b.Middle = max(b.From, bar)
	c.joins(b, path)
	return b
}

// joins sets where the heads of the stage begin to grow on a path.
func (c *compiler) joins(b *engine.Build, path engine.Path) {
	b.Joins = make([]float64, len(c.program.Heads))
	for h := range b.Joins {
		b.Joins[h] = -1
	}
	if c.program.Patch == nil {
		return // a fault already
	}
	heads := StageHeads(c.program)
	points := make([]engine.Point, len(heads))
	for i, h := range heads {
		points[i] = c.program.Heads[h].At
	}
	step, steps := path.Steps(points, 1)
	b.Span = 1
	if steps > 1 {
		b.Span = joinSpan
	}
	for i, h := range heads {
		b.Joins[h] = float64(step[i]) * (1 - b.Span) / float64(max(1, steps-1))
	}
}
