package plot

import (
	"fmt"
	"math"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows"
)

// columns is how many steps a song's light is drawn in, at most: about a pixel
// each on a page at DPI.
const columns = 1400

// Measure plays the set list as planned through the engine, at the frame rate of
// a full universe, and returns its light. done is told after each song, and may
// be nil.
func Measure(s *shows.Show, done func(song, of int)) *Night {
	n := &Night{Show: s.Program.Name, Venue: s.Venue, Set: s.Program.SetName}
	m := newMeter(s)
	for i, index := range s.Program.SetList {
		n.Songs = append(n.Songs, m.song(index))
		if done != nil {
			done(i+1, len(s.Program.SetList))
		}
	}
	return n
}

type meter struct {
	show   *shows.Show
	engine *engine.Engine
	heads  []flash.Head
	rig    flash.Area
	voices []voice
	pos    clock.Position
	lights []fixtures.RGB
}

func newMeter(s *shows.Show) *meter {
	m := &meter{show: s, engine: engine.New(s.Program), heads: flash.Heads(s.Program.Patch), voices: voices(s)}
	all := make([]int32, len(m.heads))
	for h := range all {
		all[h] = int32(h)
	}
	m.rig = flash.NewArea("the whole rig", m.heads, all)
	m.lights = make([]fixtures.RGB, len(m.heads))
	m.pos = clock.Position{At: clock.Second, Tempo: clock.BPM(120)}
	m.engine.Frame(m.pos)
	return m
}

func (m *meter) song(index int32) Song {
	song := &m.show.Program.Songs[index]
	s := Song{Name: song.Name, Tempo: fmt.Sprintf("%s, %s", song.Tempo, song.Meter), Rank: math.NaN()}
	s.Length = song.TimeAt(song.Length())
	for i := range song.Sections {
		sec := &song.Sections[i]
		s.Sections = append(s.Sections, Section{
			sec.Name, song.TimeAt(sec.Start), song.TimeAt(sec.Start + sec.Length), float64(sec.Energy), math.NaN(),
		})
		for bar := range song.BarsOf(int32(i)) {
			s.Bars = append(s.Bars, Bar{song.TimeAt(song.BarStart(sec.Start, bar)), int(bar) + 1})
		}
	}
	m.play(index, &s)
	return s
}

func (m *meter) play(index int32, s *Song) {
	const frame = clock.Second / 44
	song := &m.show.Program.Songs[index]
	n := int(min(columns, max(1, s.Length/frame)))
	s.Strength = make([]float64, n)
	sums := make([]fixtures.RGB, n*len(m.voices))
	for _, v := range m.voices {
		s.Rows = append(s.Rows, Row{m.show.Program.Heads[v.head].Name, v.group, make([]float64, n), make([]float64, n), make([]fixtures.RGB, n)})
	}
	counts := make([]float64, n)
	m.engine.Do(engine.Command{Kind: engine.SelectSong, Index: index}, m.pos)
	m.pos.Playing, m.pos.Jumps = true, m.pos.Jumps+1
	begin := m.pos.At
	for t := clock.Time(0); t < s.Length; t += frame {
		m.pos.At = begin + t
		m.pos.Beat = song.BeatAt(t)
		m.pos.Pulse, m.pos.Tempo = m.pos.Beat, song.TempoAt(m.pos.Beat)
		m.engine.Frame(m.pos)
		lit := m.engine.Lit()
		for h := range m.heads {
			m.lights[h] = m.heads[h].Light(&lit[h])
		}
		c := min(n-1, int(float64(t)/float64(s.Length)*float64(n)))
		counts[c]++
		s.Strength[c] += flash.Luminance(m.rig.Sum(m.lights))
		for r, v := range m.voices {
			l := m.lights[v.head]
			y := flash.Luminance(l)
			s.Rows[r].Mean[c] += y
			s.Rows[r].Peak[c] = max(s.Rows[r].Peak[c], lightness(y))
			sum := &sums[r*n+c]
			for k := range sum {
				sum[k] += l[k]
			}
		}
	}
	for c := range n {
		k := max(1, counts[c])
		s.Strength[c] = 10 * lightness(s.Strength[c]/k)
		for r := range s.Rows {
			s.Rows[r].Mean[c] = lightness(s.Rows[r].Mean[c] / k)
			s.Rows[r].Hue[c] = sums[r*n+c]
		}
	}
	m.pos.At = begin + s.Length
	m.pos.Playing = false
	m.engine.Frame(m.pos)
}
