package paper

import (
	"fmt"
	"io"
	"text/tabwriter"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/position"
)

// Continuous is the share of a breaker that a load of three hours or more may
// take: NEC 210.20(A) and 215.3 ask for a breaker of 125 % of such a load, from
// memory. Local code decides.
const Continuous = 0.8

// Amps returns what a load draws at a voltage, with a power factor of 1: lamps
// with poor supplies draw more.
func Amps(watts, volts float64) float64 { return watts / volts }

// Sum is what a circuit draws. The last Sum of a list is for fixtures without
// a circuit.
type Sum struct {
	Name     string
	Breaker  float64 // amperes, or 0
	Fixtures int
	Unknown  int     // fixtures of which nobody said what they draw
	Full     float64 // watts with everything at full
	Worst    float64 // watts at the worst planned moment
	When     string  // that moment
}

// Over reports whether full load is above what the breaker may carry for hours.
func (s *Sum) Over(volts float64) bool {
	return s.Breaker > 0 && Amps(s.Full, volts) > float64(s.Breaker*Continuous)
}

// Sums adds up each circuit, and the night as a whole: the watts of each
// fixture times its level in each planned look and cue, a linear model. White
// at a level counts as any colour at it. Effects count with the highest that they
// can make of a level. What has no dimmer, such as a hazer, always counts in full.
func Sums(s *shows.Show) (circuits []Sum, night Sum) {
	p := &s.Power
	for _, c := range p.Circuits {
		circuits = append(circuits, Sum{Name: c.Name, Breaker: c.Amps})
	}
	circuits = append(circuits, Sum{Name: "no circuit"})
	of := func(i int) *Sum {
		if c := p.Draws[i].Circuit; c >= 0 {
			return &circuits[c]
		}
		return &circuits[len(circuits)-1]
	}
	for i, d := range p.Draws {
		for _, sum := range []*Sum{of(i), &night} {
			sum.Fixtures++
			sum.Full += d.Watts
			if d.Watts == 0 {
				sum.Unknown++
			}
		}
	}
	t := newTimes(s)
	t.each(func(when string, levels []float64) {
		watts, total := make([]float64, len(circuits)), 0.0
		for i, d := range p.Draws {
			at := d.Circuit
			if at < 0 {
				at = len(circuits) - 1
			}
			w := float64(d.Watts * levels[i])
			watts[at] += w
			total += w
		}
		for i := range circuits {
			circuits[i].take(watts[i], when)
		}
		night.take(total, when)
	})
	return circuits, night
}

func (s *Sum) take(watts float64, when string) {
	if watts > s.Worst {
		s.Worst, s.When = watts, when
	}
}

// times walks the planned moments of a night.
type times struct {
	p     *engine.Program
	kept  []float64 // the highest that a kept head is ever set to
	level []float64 // of heads
	sum   []float64 // of fixtures
}

func newTimes(s *shows.Show) *times {
	t := &times{p: s.Program, kept: make([]float64, len(s.Program.Heads)), level: make([]float64, len(s.Program.Heads)), sum: make([]float64, len(s.Program.Patch.Placements()))}
	t.cues(func(_ string, c *engine.Cue) {
		for i := range c.Parts {
			for _, h := range c.Parts[i].Heads {
				if c.Parts[i].Sets(fixtures.Intensity) {
					t.kept[h] = max(t.kept[h], c.Parts[i].Values[fixtures.Intensity])
				}
			}
		}
	})
	return t
}

func (t *times) cues(visit func(when string, c *engine.Cue)) {
	for i := range t.p.Looks {
		visit("look "+t.p.Looks[i].Name, &t.p.Looks[i])
	}
	for i := range t.p.Songs {
		song := &t.p.Songs[i]
		for n := range song.Cues {
			visit(song.Name+", "+position.Name(song, song.Cues[n].At), &song.Cues[n])
		}
	}
}

// each visits every moment with the level of each fixture, 0..1. While one
// look fades to another the sum lies between theirs.
func (t *times) each(visit func(when string, levels []float64)) {
	t.cues(func(when string, c *engine.Cue) {
		for h := range t.level {
			t.level[h] = 0
			if t.p.Heads[h].Keep { // songs leave it where it was, at most here
				t.level[h] = t.kept[h]
			}
		}
		for i := range c.Parts {
			for _, h := range c.Parts[i].Heads {
				if c.Parts[i].Sets(fixtures.Intensity) {
					t.level[h] = c.Parts[i].Values[fixtures.Intensity]
				}
			}
		}
		for _, i := range c.Effects {
			t.lift(&t.p.Effects[i])
		}
		visit(when, t.fixtures())
	})
}

// lift puts heads as high as an effect can take them: its blend with the wave
// at 1. Scaling only pulls down.
func (t *times) lift(e *engine.Effect) {
	if e.MovesColour || e.Param != fixtures.Intensity {
		return
	}
	for _, h := range e.Heads {
		switch v := t.level[h]; e.Blend {
		case engine.Add:
			t.level[h] = min(1, v+e.Depth)
		case engine.Replace:
			t.level[h] = max(v, v+float64(e.Depth*(1-v)))
		case engine.Highest:
			t.level[h] = max(v, e.Depth)
		case engine.Swing:
			t.level[h] = min(1, v+e.Depth/2)
		}
	}
}

// fixtures returns the level of each fixture, the mean of its heads.
func (t *times) fixtures() []float64 {
	for i := range t.sum {
		t.sum[i] = 0
	}
	for h, head := range t.p.Heads {
		profile := t.p.Patch.Placements()[head.Fixture].Profile
		level := t.level[h]
		if profile.Has(fixtures.Haze) || profile.Has(fixtures.Fan) {
			level = 1 // heats all night
		}
		t.sum[head.Fixture] += level / float64(profile.Heads)
	}
	return t.sum
}

const caution = `CAUTION: these are sums of what people typed, with a power factor of 1 and a linear
model; nothing was measured. Inrush, dimmers at part load and other loads on the
same circuit are not in them. Mains distribution is for qualified people, licensed
where the law asks for it, under local code.`

// Power prints what each circuit draws.
func Power(out io.Writer, s *shows.Show) {
	circuits, night := Sums(s)
	volts := s.Power.Volts
	fmt.Fprintf(out, "%s, %s: power", s.Program.Name, s.Venue)
	if volts > 0 {
		fmt.Fprintf(out, " at %g V", volts)
	}
	fmt.Fprint(out, "\n\n")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "circuit\tfixtures\tall full\t\tplanned worst\t\tmay carry\t")
	for i := range circuits {
		if c := &circuits[i]; c.Fixtures > 0 || c.Breaker > 0 {
			printSum(w, c, volts)
		}
	}
	night.Name = "all"
	printSum(w, &night, volts)
	w.Flush()
	if night.Worst > 0 {
		fmt.Fprintf(out, "\nThe night's worst moment: %s\n", night.When)
	}
	if night.Unknown > 0 {
		fmt.Fprintf(out, "%d fixtures count as nothing: no watts are given for them or their profile\n", night.Unknown)
	}
	fmt.Fprintf(out, "\n\"may carry\" is 80 %% of the breaker: three hours or more count as continuous\n(NEC 210.20(A) and 215.3, from memory; your local code decides).\n%s\n", caution)
}

func printSum(w io.Writer, s *Sum, volts float64) {
	current := func(watts float64) string {
		if volts == 0 {
			return "-"
		}
		return fmt.Sprintf("%.1f A", Amps(watts, volts))
	}
	carry, mark := "-", ""
	if s.Breaker > 0 {
		carry = fmt.Sprintf("%.1f A of %g A", float64(s.Breaker*Continuous), s.Breaker)
		switch {
		case s.Over(volts) && Amps(s.Worst, volts) > float64(s.Breaker*Continuous):
			mark = "TOO MUCH AS PLANNED"
		case s.Over(volts):
			mark = "TOO MUCH AT FULL"
		}
	}
	fmt.Fprintf(w, "%s\t%d\t%.0f W\t%s\t%.0f W\t%s\t%s\t%s\n", s.Name, s.Fixtures, s.Full, current(s.Full), s.Worst, current(s.Worst), carry, mark)
}
