package plot

import (
	"fmt"
	"math"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/plan"
)

// mostColumns is how many steps a song's light is drawn in, at most: about a
// pixel each on a page at DPI.
const mostColumns = 1400

// Of prepares a measured night for drawing.
func Of(measured *plan.Night) *Night {
	show := measured.Show
	n := &Night{Show: show.Program.Name, Venue: show.Venue, Set: show.Program.SetName}
	lit := slices.DeleteFunc(voices(show), func(v voice) bool { return measured.Heads[v.head].Flux == 0 }) // haze is no light
	for i := range measured.Songs {
		n.Songs = append(n.Songs, songOf(measured, &measured.Songs[i], lit))
	}
	return n
}

func songOf(night *plan.Night, m *plan.Song, lit []voice) Song {
	song := &night.Show.Program.Songs[m.Index]
	s := Song{
		Name: m.Name, Tempo: fmt.Sprintf("%s, %s", song.Meter.PerBeat(song.Tempo), song.Meter),
		Length: m.Time, Rank: math.NaN(), Notes: flashes(song, m),
	}
	for i := range m.Sections {
		x := &m.Sections[i]
		s.Sections = append(s.Sections, Section{x.Name, x.From, x.To, float64(x.Energy), x.Strength})
		for bar := range song.BarsOf(x.Index) {
			s.Bars = append(s.Bars, Bar{song.TimeAt(song.BarStart(x.Start, bar)), int(bar) + 1})
		}
	}
	s.Rank = spearman(energies(s.Sections))
	n := min(mostColumns, len(m.Columns))
	for _, v := range lit {
		s.Rows = append(s.Rows, Row{night.Show.Program.Heads[v.head].Name, v.group, make([]float64, n), make([]fixtures.RGB, n)})
	}
	s.Light = make([]float64, n)
	for c := range n {
		// The columns of what was measured are even in beats, ours in time.
		at := m.Time/clock.Time(n)*clock.Time(c) + m.Time/clock.Time(2*n)
		from := &m.Columns[min(len(m.Columns)-1, int(song.BeatAt(at)*plan.PerQuarter/clock.Quarter))]
		s.Light[c] = from.Brightness / 10
		for r, v := range lit {
			s.Rows[r].Light[c] = fixtures.Lightness(flash.Luminance(from.Lights[v.head])) / 100
			s.Rows[r].Hue[c] = from.Lights[v.head]
		}
	}
	return s
}

func energies(sections []Section) (declared, measured []float64) {
	for i := range sections {
		declared, measured = append(declared, sections[i].Declared), append(measured, sections[i].Measured)
	}
	return declared, measured
}

// flashes notes the worst of what flashes more often than the song may.
func flashes(song *engine.Song, m *plan.Song) []Note {
	limit := float64(song.FlashLimit())
	var worst *plan.Flashes
	most, kind := limit, flash.General
	for i := range m.Flashes {
		f := &m.Flashes[i]
		for k, second := range [...]flash.Second{flash.General: f.General, flash.Red: f.Red} {
			if second.Flashes > most || second.Flashes == most && worst != nil { // of several the widest
				worst, most, kind = f, second.Flashes, flash.Kind(k)
			}
		}
	}
	var notes []Note
	if worst != nil {
		at := [...]flash.Second{flash.General: worst.General, flash.Red: worst.Red}[kind].End
		notes = append(notes, Note{
			At: at, Weight: Fault, Flash: true, Place: shows.PositionName(song, song.BeatAt(at)),
			Words: fmt.Sprintf("%.3g %s flashes a second, %s; at most %.3g", most, kind, worst.Area, limit),
		})
	}
	if m.Strobe.Hertz > limit {
		notes = append(notes, Note{
			At: song.TimeAt(m.Strobe.Beat), Weight: Fault, Flash: true, Place: shows.PositionName(song, m.Strobe.Beat),
			Words: fmt.Sprintf("a strobe of %.3g flashes a second; at most %.3g", m.Strobe.Hertz, limit),
		})
	}
	slices.SortStableFunc(notes, func(a, b Note) int { return int(min(1, max(-1, a.At-b.At))) })
	return notes
}
