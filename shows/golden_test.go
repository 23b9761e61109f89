package shows_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
)

// TestDemoSummary holds what the demo compiles to. The numbers are rounded, so
// that it is the same on every processor.
func TestDemoSummary(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.NoError(t, problems.Err())
	golden(t, "../testdata/shows/harbour-hall.golden", []byte(summary(show)))
}

func summary(s *shows.Show) string {
	var b strings.Builder
	p := s.Program
	fmt.Fprintf(&b, "show %s, venue %s, set %s %v of %v, walk-in %d, walk-out %d\n",
		p.Name, s.Venue, p.SetName, p.SetList, s.Sets, p.WalkIn, p.WalkOut)
	fmt.Fprintf(&b, "runs on %v, settle %v, unheld %d ms, exit %s over %d ms, clock %+v\n",
		p.RunsOn, p.EffectsStop, p.ReleaseFade/clock.Millisecond, s.Outputs.Exit.Rule, s.Outputs.Exit.Over/clock.Millisecond, s.Clock)
	fmt.Fprintf(&b, "sacn %+v, artnet %+v\n", s.Outputs.SACN, s.Outputs.ArtNet)
	for _, u := range s.Outputs.Universes {
		fmt.Fprintf(&b, "universe %+v\n", u)
	}
	for _, f := range p.Patch.Placements() {
		fmt.Fprintf(&b, "fixture %s: %s, universe %d, address %d, head %d\n", f.Name, f.Profile.Name, f.Universe, f.Address, f.Head)
	}
	for _, h := range p.Heads {
		fmt.Fprintf(&b, "head %s at %.2f %.2f %.2f, keep %v, spared %v\n", h.Name, h.At.X, h.At.Y, h.At.Z, h.Keep, h.Spared)
	}
	fmt.Fprintf(&b, "fire %d, arm %v, control %d, tap %d\n", p.Notes.Fire, p.Notes.Arm, p.Notes.Control, p.Notes.Tap)
	for note, kind := range p.Notes.Controls {
		if kind != 0 {
			fmt.Fprintf(&b, "note %d: command %d\n", note, kind)
		}
	}
	for program, song := range p.Notes.ByProgram {
		if song != engine.None {
			fmt.Fprintf(&b, "program %d: song %d\n", program, song)
		}
	}
	for i, role := range language.RoleNames() {
		fmt.Fprintf(&b, "house %s %s\n", role, colourName(engine.Colour{Fixed: true, RGB: p.HousePalette[i]}))
	}
	for i := range p.Effects {
		summariseEffect(&b, i, &p.Effects[i])
	}
	for i := range p.Looks {
		fmt.Fprintf(&b, "look %d ", i)
		summariseCue(&b, &p.Looks[i])
	}
	for i := range p.Songs {
		summariseSong(&b, &p.Songs[i])
	}
	return b.String()
}

func summariseEffect(b *strings.Builder, i int, e *engine.Effect) {
	fmt.Fprintf(b, "effect %d %s: heads %v, %s %s, %s x%d, depth %.3f", i, e.Name, e.Heads, e.Blend, e.Wave.Kind, lengthName(e.Period), e.Pulses, e.Depth)
	fmt.Fprintf(b, ", low %.3f high %.3f duty %.3f skew %.3f seed %d cells %d levels %v", e.Wave.Low, e.Wave.High, e.Wave.Duty, e.Wave.Skew, e.Wave.Seed, e.Wave.Cells, e.Wave.Levels)
	if e.MovesColour {
		fmt.Fprintf(b, ", from %s to %s", colourName(e.From), colourName(e.To))
	} else {
		fmt.Fprintf(b, ", %s", e.Param)
	}
	b.WriteString(", behind")
	for _, o := range e.Offsets {
		fmt.Fprintf(b, " %.3f", o.Unit())
	}
	b.WriteString("\n")
}

func summariseSong(b *strings.Builder, s *engine.Song) {
	fmt.Fprintf(b, "song %s: %s, %s, program %d, %.1f quarters\n", s.Name, s.Tempo, s.Meter, s.Program, s.Length().Quarters())
	for i, role := range language.RoleNames() {
		fmt.Fprintf(b, "  %s %s\n", role, colourName(engine.Colour{Fixed: true, RGB: s.Palette[i]}))
	}
	for _, sec := range s.Sections {
		fmt.Fprintf(b, "  section %s at %.1f for %.1f, energy %d, note %d\n", sec.Name, sec.Start.Quarters(), sec.Length.Quarters(), sec.Energy, sec.Note)
	}
	for i := range s.Cues {
		fmt.Fprintf(b, "  at %s: ", position.Name(s, s.Cues[i].At))
		summariseCue(b, &s.Cues[i])
	}
}

func summariseCue(b *strings.Builder, c *engine.Cue) {
	fade := lengthName(c.Fade.Length)
	if c.Fade.Time > 0 {
		fade = fmt.Sprintf("%d ms", c.Fade.Time/clock.Millisecond)
	}
	fmt.Fprintf(b, "%s over %s, effects %v\n", c.Name, fade, c.Effects)
	for _, p := range c.Parts {
		fmt.Fprintf(b, "    %v:", p.Heads)
		if p.SetsColour {
			fmt.Fprintf(b, " %s", colourName(p.Colour))
		}
		for q := range fixtures.NumParams {
			if p.Sets(q) {
				fmt.Fprintf(b, " %s %.3f", q, p.Values[q])
			}
		}
		b.WriteString("\n")
	}
}

func lengthName(l engine.Length) string {
	unit := "beats"
	if l.Bars {
		unit = "bars"
	}
	return fmt.Sprintf("%d/%d %s", l.Num, l.Den, unit)
}

func colourName(c engine.Colour) string {
	if !c.Fixed {
		return language.RoleNames()[c.Role]
	}
	return fmt.Sprintf("(%.4f %.4f %.4f)", c.RGB[0], c.RGB[1], c.RGB[2])
}

// The demo is a night of six to eight minutes in three songs that differ in
// meter, and its lights are those of the hall.
func TestDemoIsTheNightPromised(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.NoError(t, problems.Err())
	var total clock.Time
	meters := map[engine.Meter]bool{}
	for i := range show.Program.Songs {
		s := &show.Program.Songs[i]
		long := s.Tempo.Span(s.Length())
		assert.GreaterOrEqual(t, long, 90*clock.Second, "%s takes %d s", s.Name, long/clock.Second)
		assert.LessOrEqual(t, long, 150*clock.Second, "%s takes %d s", s.Name, long/clock.Second)
		total += long
		meters[s.Meter] = true
	}
	assert.GreaterOrEqual(t, total, 360*clock.Second)
	assert.LessOrEqual(t, total, 480*clock.Second)
	if assert.Len(t, meters, 3, "meters") {
		assert.True(t, meters[engine.Meter{Upper: 6, Lower: 8}], "meters")
	}
	coloured := 0
	for _, h := range show.Program.Heads {
		if show.Program.Patch.Placements()[h.Fixture].Profile.Has(fixtures.Red) {
			coloured++
		}
	}
	assert.Equal(t, 12, coloured, "heads mix colours")
	waves, paths := map[engine.WaveKind]bool{}, 0
	for _, e := range show.Program.Effects {
		waves[e.Wave.Kind] = true
		if len(e.Offsets) > 0 && e.Offsets[len(e.Offsets)-1] != 0 {
			paths++
		}
	}
	assert.Len(t, waves, int(engine.NumWaves), "kinds of wave")
	assert.GreaterOrEqual(t, paths, 5)
}

// No effect of the demo repeats three times a second in any song: WCAG 2.2,
// 2.3.1 draws the line at three flashes a second. This looks at each effect by
// itself; what they add up to is for an analysis of rendered frames.
func TestDemoDoesNotFlash(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.NoError(t, problems.Err())
	for i := range show.Program.Songs {
		s := &show.Program.Songs[i]
		for _, e := range show.Program.Effects {
			period := s.Tempo.Span(e.Period.In(s.Meter))
			flashes := float64(e.Pulses)
			if e.Wave.Kind == engine.Noise || e.Wave.Kind == engine.Steps {
				flashes *= float64(max(int(e.Wave.Cells), len(e.Wave.Levels))) / 2
			}
			rate := flashes * float64(clock.Second) / float64(period)
			assert.LessOrEqual(t, rate, 2.0, "%s in %s comes %.1f times a second", e.Name, s.Name, rate)
		}
	}
}
