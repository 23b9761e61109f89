package smf

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2"

	"tactus/clock"
	"tactus/engine"
)

// formed is a song without markers whose form is known.
type formed struct {
	name   string
	src    []byte
	starts []int    // the bar of each part, and the end
	parts  []string // the name of each
}

// player writes notes of a song whose form is known.
type player struct {
	*rand.Rand
	meter  engine.Meter
	tracks [][]event
	at     clock.Beat // the bar, in ticks
}

func newPlayer(seed uint64, meter engine.Meter, tracks int) *player {
	return &player{Rand: rand.New(rand.NewPCG(seed, 7)), meter: meter, tracks: make([][]event, tracks)}
}

// play writes a note of a track; at and length count sixteenths from the bar line. People
// play up to a hundredth of a second early or late, and not equally loud.
func (p *player) play(track int, channel, key uint8, at, length float64, velocity int) {
	from := p.at + clock.Beat(at*Division/4) + clock.Beat(p.IntN(20)) - 10
	v := uint8(min(127, max(1, velocity+p.IntN(12)-6)))
	from = max(0, from)
	to := max(from+20, p.at+clock.Beat((at+length)*Division/4)-20)
	p.tracks[track] = append(p.tracks[track], event{from, midi.NoteOn(channel-1, key, v)}, event{to, midi.NoteOff(channel-1, key)})
}

// barLength is a bar in sixteenths.
func (p *player) barLength() int { return int(ticks(p.meter.Bar())) * 4 / Division }

// finish returns the file.
func (p *player) finish(t testing.TB, name string, form []string, bars map[string]int, lead int, changes ...event) *formed {
	t.Helper()
	f := &formed{name: name}
	at := lead
	if lead > 0 {
		f.starts, f.parts = []int{0}, []string{"lead"}
	}
	for _, part := range form {
		f.starts, f.parts = append(f.starts, at), append(f.parts, part)
		at += bars[part]
	}
	f.starts = append(f.starts, at)
	score := append([]event{{0, meterEvent(p.meter)}, {0, tempoEvent(500_000)}}, changes...)
	files := [][]event{score}
	for _, track := range p.tracks {
		sortEvents(track)
		files = append(files, track)
	}
	src, err := fileOf(clock.Beat(at)*p.meter.Bar()+40*clock.Quarter, files...) // silence at the end
	require.NoError(t, err)
	f.src = src
	return f
}

func sortEvents(list []event) {
	for i := 1; i < len(list); i++ {
		for j := i; j > 0 && list[j].at < list[j-1].at; j-- {
			list[j], list[j-1] = list[j-1], list[j]
		}
	}
}

// sound is how a part of a pop song is played.
type sound struct {
	chords  []int // roots, semitones above the key
	melody  []int // steps of the scale for each eighth of two bars; -1: a rest
	drums   int   // 0: none, 1: kick and hat, 2: with snare, 3: with open hats and crash
	pads    bool
	guitar  bool
	loud    int
	octaves int
	wanders bool // the melody is new in every bar
}

var scale = []int{0, 2, 4, 5, 7, 9, 11}

// soundOf invents a part.
func (p *player) soundOf(level, phrase int) sound {
	s := sound{wanders: phrase > 4, drums: min(3, level), pads: level != 1, guitar: level >= 2, loud: 60 + 15*level, octaves: p.IntN(2)}
	for range phrase {
		s.chords = append(s.chords, scale[p.IntN(6)])
	}
	for range 32 {
		step := -1
		if p.IntN(10) < 3+level {
			step = p.IntN(7)
		}
		s.melody = append(s.melody, step)
	}
	return s
}

// pop plays a bar of a part.
func (p *player) pop(s *sound, n int, last bool) {
	length := p.barLength()
	root := s.chords[n%len(s.chords)]
	for at := 0; at < length; at += 4 {
		p.play(0, 1, uint8(36+root), float64(at), 3, s.loud)
	}
	if s.pads {
		for _, third := range []int{0, 4, 7} {
			p.play(1, 2, uint8(60+(root+third)%12), 0, float64(length), s.loud-10)
		}
	}
	if s.guitar {
		for at := 0; at < length; at += 2 {
			p.play(2, 3, uint8(52+root), float64(at), 1, s.loud)
		}
	}
	for at := 0; at < length; at += 2 {
		step := s.melody[(n%2*16+at/2)%32]
		if s.wanders && step >= 0 {
			step = p.IntN(7)
		}
		if step >= 0 && p.IntN(12) > 0 {
			p.play(3, 4, uint8(72+scale[step]+12*s.octaves), float64(at), 2, s.loud+5)
		}
	}
	if s.drums == 0 {
		return
	}
	for at := 0; at < length; at += 2 {
		p.play(4, 10, 42, float64(at), 1, s.loud-10)
		if at%8 == 0 {
			p.play(4, 10, 36, float64(at), 1, s.loud+10)
		}
		if s.drums > 1 && at%8 == 4 {
			p.play(4, 10, 38, float64(at), 1, s.loud+10)
		}
		if s.drums > 2 && at%4 == 2 {
			p.play(4, 10, 46, float64(at), 1, s.loud)
		}
	}
	if last { // a fill
		for at := length / 2; at < length; at++ {
			p.play(4, 10, uint8(41+at%6), float64(at), 1, s.loud+10)
		}
	}
}

// popSongs are the songs that the limits of structure.go are tuned by.
func popSongs(t testing.TB, seeds int) (list []*formed) {
	t.Helper()
	type form struct {
		name   string
		order  string
		bars   map[string]int
		level  map[string]int
		phrase int // chords before they come again
	}
	forms := []form{
		{"pop", "intro verse pre chorus verse pre chorus bridge chorus outro", map[string]int{"intro": 4, "verse": 8, "pre": 4, "chorus": 8, "bridge": 8, "outro": 4}, map[string]int{"intro": 0, "verse": 1, "pre": 2, "chorus": 3, "bridge": 1, "outro": 0}, 4},
		{"rock", "intro verse chorus verse chorus solo chorus", map[string]int{"intro": 8, "verse": 16, "chorus": 8, "solo": 16}, map[string]int{"intro": 2, "verse": 2, "chorus": 3, "solo": 3}, 4},
		{"ballad", "verse chorus verse chorus bridge chorus chorus", map[string]int{"verse": 8, "chorus": 8, "bridge": 4}, map[string]int{"verse": 0, "chorus": 1, "bridge": 2}, 4},
		{"standard", "a a b a", map[string]int{"a": 8, "b": 8}, map[string]int{"a": 1, "b": 1}, 4},
		{"one level", "intro verse chorus verse chorus outro", map[string]int{"intro": 4, "verse": 8, "chorus": 8, "outro": 4}, map[string]int{"intro": 2, "verse": 2, "chorus": 2, "outro": 2}, 4},
		{"long phrases", "intro verse chorus verse chorus verse", map[string]int{"intro": 4, "verse": 16, "chorus": 8}, map[string]int{"intro": 0, "verse": 0, "chorus": 1}, 8},
		{"long phrases, one level", "verse chorus verse bridge chorus", map[string]int{"verse": 16, "chorus": 8, "bridge": 12}, map[string]int{"verse": 2, "chorus": 2, "bridge": 2}, 8},
	}
	meters := []engine.Meter{{Upper: 4, Lower: 4}, {Upper: 3, Lower: 4}, {Upper: 6, Lower: 8}}
	for n := range seeds {
		for i, f := range forms {
			p := newPlayer(uint64(100*n+i), meters[(n+i)%3], 5)
			sounds, lead := map[string]*sound{}, n%2
			if lead > 0 { // a pickup
				p.play(3, 4, 74, float64(p.barLength()-2), 1, 70)
				p.play(3, 4, 76, float64(p.barLength()-1), 1, 70)
				p.at += ticks(p.meter.Bar())
			}
			order := strings.Fields(f.order)
			for _, part := range order {
				if sounds[part] == nil {
					s := p.soundOf(f.level[part], f.phrase)
					sounds[part] = &s
				}
				for bar := range f.bars[part] {
					p.pop(sounds[part], bar, bar == f.bars[part]-1)
					p.at += ticks(p.meter.Bar())
				}
			}
			var changes []event
			if n%3 == 0 {
				changes = append(changes, event{20 * Division, tempoEvent(480_000)}, event{64 * Division, tempoEvent(520_000)})
			}
			list = append(list, p.finish(t, fmt.Sprintf("%s %d in %s", f.name, n, p.meter), order, f.bars, lead, changes...))
		}
	}
	return list
}

// score counts boundaries: proposed, true, and found to the bar.
type score struct{ proposed, real, exact, near int }

func (s *score) precision() float64 { return float64(s.exact) / float64(max(1, s.proposed)) }
func (s *score) recall() float64    { return float64(s.exact) / float64(max(1, s.real)) }

// compare adds what was proposed for a song; the beginning and the end do not count.
func (s *score) compare(t testing.TB, f *formed) {
	t.Helper()
	m := read(t, f.src)
	starts := map[int]bool{}
	for i := range m.Song.Sections {
		if i > 0 {
			starts[int(m.Song.BarsUntil(0, m.Song.Sections[i].Start))] = true
		}
	}
	s.proposed += len(starts)
	var missed []int
	for _, at := range f.starts[1 : len(f.starts)-1] {
		s.real++
		if starts[at] {
			s.exact++
		} else {
			missed = append(missed, at)
		}
		if starts[at] || starts[at-1] || starts[at+1] {
			s.near++
		}
		delete(starts, at)
	}
	if testing.Verbose() {
		var got []string
		for i := range m.Song.Sections {
			got = append(got, fmt.Sprintf("%s %d (%d)", m.Song.Sections[i].Name, m.Song.SectionBars(int32(i)), m.Song.Sections[i].Energy))
		}
		t.Logf("%s: missed %v, too many %v\n  %v\n  %v", f.name, missed, starts, f.parts, got)
	}
}

// Boundaries of songs in five forms, three meters, with tempo changes, drums and pickups.
func TestStructureOfPopSongs(t *testing.T) {
	var s score
	for _, f := range popSongs(t, 6) {
		s.compare(t, f)
	}
	t.Logf("precision %.3f, recall %.3f, recall to a bar %.3f of %d", s.precision(), s.recall(), float64(s.near)/float64(s.real), s.real)
	assert.GreaterOrEqual(t, s.precision(), 0.9)
	assert.GreaterOrEqual(t, s.recall(), 0.9)
}
