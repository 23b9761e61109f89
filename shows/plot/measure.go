package plot

import (
	"fmt"
	"slices"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
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
	_, found := measured.Check()
	for i := range measured.Songs {
		n.Songs = append(n.Songs, songOf(measured, &measured.Songs[i], lit, found[i]))
	}
	return n
}

func songOf(night *plan.Night, m *plan.Song, lit []voice, found []plan.Finding) Song {
	song := &night.Show.Program.Songs[m.Index]
	s := Song{
		Name: m.Name, Tempo: fmt.Sprintf("%s, %s", song.Meter.PerBeat(song.Tempo), song.Meter),
		Length: m.Time, Rank: m.Follows(), Notes: notesOf(song, found),
	}
	for i := range m.Sections {
		x := &m.Sections[i]
		s.Sections = append(s.Sections, Section{x.Name, x.From, x.To, float64(x.Energy), x.Strength})
		for bar := range song.SectionBars(x.Index) {
			s.Bars = append(s.Bars, Bar{song.TimeAt(song.BarStart(x.Start, bar)), int(bar) + 1})
		}
	}
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

// notesOf are the findings that nobody has accepted, in order of time.
func notesOf(song *engine.Song, found []plan.Finding) []Note {
	var notes []Note
	for _, f := range plan.Open(found, plan.Hint) {
		n := Note{
			At: song.TimeAt(f.Beat), Flash: f.Kind == plan.Flashing, Place: f.Place, Words: f.Reason,
			Weight: [...]Weight{plan.Hint: Remark, plan.Warning: Warning, plan.Error: Fault}[min(f.Severity, plan.Error)],
		}
		if n.Place == "" {
			n.Place = "the song"
		}
		if f.Suggestion != "" {
			n.Words += "; " + f.Suggestion
		}
		notes = append(notes, n)
	}
	slices.SortStableFunc(notes, func(a, b Note) int { return int(min(1, max(-1, a.At-b.At))) })
	return notes
}
