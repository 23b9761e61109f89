package paper

import (
	"fmt"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
)

// Continuous is the share of a breaker's rating that a load of three hours or more
// may draw: NEC 210.20(A) and 215.3, from memory, ask for a breaker rated at 125 %
// of such a load. Local code decides.
const Continuous = 0.8

// Amps returns the current that a load draws at a voltage, assuming a power factor
// of 1. Lamps with a lower power factor draw more.
func Amps(watts, volts float64) float64 { return watts / volts }

// Sum is the load of a circuit. The last Sum of a list covers the fixtures that
// have no circuit.
type Sum struct {
	Name     string
	Breaker  float64 // rating in amperes; 0: unknown
	Fixtures int
	Unknown  int     // fixtures with no watts given
	Full     float64 // watts with every fixture at full
	Worst    float64 // watts at the worst planned moment
	When     string  // the name of that moment
}

// Over reports whether full load exceeds the continuous load that the breaker may
// carry.
func (s *Sum) Over(volts float64) bool {
	return s.Breaker > 0 && Amps(s.Full, volts) > float64(s.Breaker*Continuous)
}

// Sums adds up the load of each circuit and of the whole night. For each planned
// look and cue it multiplies the watts of each fixture by its level, a linear model.
// Every colour draws as much as white at the same level. An effect counts with the
// highest level that it can reach. Hazers and fans always count in full.
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
	m := newMoments(s)
	m.visitLevels(func(when string, levels []float64) {
		watts := map[*Sum]float64{}
		for i, d := range p.Draws {
			w := float64(d.Watts * levels[i])
			watts[of(i)] += w
			watts[&night] += w
		}
		for sum, w := range watts {
			if w > sum.Worst {
				sum.Worst, sum.When = w, when
			}
		}
	})
	return circuits, night
}

// moments lists the planned states of light of a night, with the level of each fixture:
// those of all looks, and of the cues of all songs.
type moments struct {
	p            *engine.Program
	keptLevel    []float64 // by head: the highest level that a cue sets, 0..1
	level        []float64 // by head: the level in the present moment, 0..1
	fixtureLevel []float64 // by fixture: the mean level of its heads, 0..1
}

func newMoments(s *shows.Show) *moments {
	heads := len(s.Program.Heads)
	m := &moments{p: s.Program, keptLevel: make([]float64, heads), level: make([]float64, heads), fixtureLevel: make([]float64, len(s.Program.Patch.Placements()))}
	m.visitCues(func(_ string, c *engine.Cue) {
		alone := *c
		alone.Effects = nil
		clear(m.level)
		shows.HighestLevels(m.p, &alone, m.level)
		for h, v := range m.level {
			m.keptLevel[h] = max(m.keptLevel[h], v)
		}
	})
	return m
}

func (m *moments) visitCues(visit func(when string, c *engine.Cue)) {
	for i := range m.p.Looks {
		visit("look "+m.p.Looks[i].Name, &m.p.Looks[i])
	}
	for i := range m.p.Songs {
		song := &m.p.Songs[i]
		for n := range song.Cues {
			visit(song.Name+", "+position.Name(song, song.Cues[n].At), &song.Cues[n])
		}
	}
}

// visitLevels visits every moment with the level of each fixture, 0..1. During a fade the
// load lies between the loads of the two moments.
func (m *moments) visitLevels(visit func(when string, levels []float64)) {
	m.visitCues(func(when string, c *engine.Cue) {
		clear(m.level)
		for h := range m.level {
			if m.p.Heads[h].Keep { // songs may leave it at any level: assume the highest
				m.level[h] = m.keptLevel[h]
			}
		}
		shows.HighestLevels(m.p, c, m.level)
		visit(when, m.fixtureLevels())
	})
}

// fixtureLevels returns the level of each fixture, the mean of its heads.
func (m *moments) fixtureLevels() []float64 {
	clear(m.fixtureLevel)
	for h, head := range m.p.Heads {
		profile := m.p.Patch.Placements()[head.Fixture].Profile
		level := m.level[h]
		if profile.Has(fixtures.Haze) || profile.Has(fixtures.Fan) {
			level = 1 // a hazer heats all night
		}
		m.fixtureLevel[head.Fixture] += level / float64(profile.Heads)
	}
	return m.fixtureLevel
}

const caution = "CAUTION: these are sums of what people typed, with a power factor of 1 and a linear model; nothing was measured. " +
	"Inrush, dimmers at part load and other loads on the same circuit are not in them. " +
	"Mains distribution is for qualified people, licensed where the law asks for it, under local code."

// PowerBook returns a book with only the power table.
func PowerBook(s *shows.Show) *Book {
	return &Book{Show: s.Program.Name, Venue: s.Venue, Sheets: []Leaf{powerSheet(s)}}
}

func powerSheet(s *shows.Show) Leaf {
	circuits, night := Sums(s)
	night.Name = "all"
	volts := s.Power.Volts
	t := Grid{Heads: []string{"circuit", "fixtures", "all full", "planned worst", "may carry", ""}, Share: []float64{.18, .10, .20, .20, .19, .13}, Bold: 6}
	load := func(watts float64) string {
		if volts == 0 {
			return fmt.Sprintf("%.0f W", watts)
		}
		return fmt.Sprintf("%.0f W, %.1f A", watts, Amps(watts, volts))
	}
	for _, c := range append(circuits, night) {
		if c.Fixtures == 0 && c.Breaker == 0 {
			continue
		}
		carry, mark := "not given", ""
		if c.Breaker > 0 {
			carry = fmt.Sprintf("%.1f A of %g A", float64(c.Breaker*Continuous), c.Breaker)
		}
		switch planned := (Sum{Breaker: c.Breaker, Full: c.Worst}); {
		case planned.Over(volts):
			mark = "TOO MUCH AS PLANNED"
		case c.Over(volts):
			mark = "TOO MUCH AT FULL"
		}
		worst := load(c.Worst)
		if s.RigOnly {
			worst = "not known"
		}
		t.Rows = append(t.Rows, Line{Cells: []string{c.Name, fmt.Sprint(c.Fixtures), load(c.Full), worst, carry, mark}, Strong: mark != "" || c.Name == "all", Energy: -1})
	}
	sheet := Leaf{Title: "Power", Tables: []Grid{t}}
	if volts > 0 {
		sheet.Under = fmt.Sprintf("at %g V", volts)
	}
	if night.Worst > 0 {
		sheet.After = append(sheet.After, "The night's worst moment: "+night.When)
	}
	if night.Unknown > 0 {
		sheet.After = append(sheet.After, "Counted as nothing: "+language.Count(night.Unknown, "fixture")+" with no watts given, in the rig or the profile.")
	}
	sheet.After = append(sheet.After, "\"may carry\" is 80 % of the breaker: three hours or more count as continuous (NEC 210.20(A) and 215.3, from memory; your local code decides).", caution)
	return sheet
}
