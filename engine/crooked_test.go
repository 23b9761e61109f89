package engine

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

// crookedMile changes meter and tempo on the way. Quarters from its start: intro
// 0, two of 4/4; verse 8, two of 3/4, one of 7/8 at 14 (where the tempo falls from
// 120 to 90), one of 3/4 at 17½; chorus 20½, three of 6/8.
func crookedMile() Song {
	eighth := quarter / 2
	turn := at(39*eighth, named("dark", cue(snap)))
	turn.Pickup = 3
	s := Song{
		Name: "Crooked Mile", Tempo: clock.BPM(120), Meter: Meter{4, 4}, Program: 8,
		Palette: Palette{Main: {1, 0, 0}, Second: {0, 0, 1}, Accent: {0, 1, 0}, Warm: {1, 0.6, 0.2}},
		Meters:  []MeterChange{{8 * quarter, Meter{3, 4}}, {14 * quarter, Meter{7, 8}}, {35 * eighth, Meter{3, 4}}, {41 * eighth, Meter{6, 8}}},
		Tempos:  []TempoChange{{14 * quarter, clock.BPM(90)}},
		Sections: []Section{
			{Name: "intro", Length: 8 * quarter, Note: 60},
			{Name: "verse", Start: 8 * quarter, Length: 25 * eighth, Note: 61},
			{Name: "chorus", Start: 41 * eighth, Length: 9 * quarter, Note: 62},
		},
		Cues: []Cue{
			named("low", cue(snap, level(washes, 0.2, Main))),
			at(8*quarter, named("walk", with(cue(snap, level(washes, 0.4, Second)), rock))),
			at(11*quarter, named("grow", with(cue(Span{Length: Length{Num: 2, Den: 1, Bars: true}}, level(washes, 1, Second)), rock))),
			turn,
			at(41*eighth, named("high", with(cue(snap, level(washes, 1, Main)), rock))),
		},
	}
	return s
}

// crooked draws a song whose meter changes at random bars, and where its bars
// begin, counted one by one.
func crooked(t *rapid.T) (s Song, bars [][]clock.Beat) {
	meter := rapid.Custom(func(t *rapid.T) Meter {
		return Meter{rapid.Uint8Range(1, 32).Draw(t, "upper"), rapid.SampledFrom([]uint8{1, 2, 4, 8, 16}).Draw(t, "lower")}
	})
	m := meter.Draw(t, "meter")
	s = Song{Meter: m, Tempo: clock.BPM(rapid.Float64Range(20, 300).Draw(t, "tempo"))}
	at := clock.Beat(0)
	for range rapid.IntRange(1, 5).Draw(t, "sections") {
		start := at
		var lines []clock.Beat
		for range rapid.IntRange(1, 8).Draw(t, "bars") {
			if n := meter.Draw(t, "meter"); at > 0 && n != m && rapid.Bool().Draw(t, "change") {
				m = n
				s.Meters = append(s.Meters, MeterChange{at, m})
			}
			if at > 0 && rapid.Bool().Draw(t, "faster") {
				s.Tempos = append(s.Tempos, TempoChange{at, clock.BPM(rapid.Float64Range(20, 300).Draw(t, "tempo"))})
			}
			lines = append(lines, at)
			at += m.Bar()
		}
		s.Sections = append(s.Sections, Section{Start: start, Length: at - start})
		bars = append(bars, lines)
	}
	return s, bars
}

// A place is in the bar that counting finds, and the bar is at the place: there
// and back over random meters.
func TestBarsThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, bars := crooked(t)
		next := clock.Beat(0)
		for k, lines := range bars {
			n := s.SectionBars(int32(k))
			require.Equal(t, int64(len(lines)), n, "section %d has %d bars", k, n)
			for i, line := range lines {
				m := s.MeterAt(line)
				for b := range m.Beats() {
					at := line + clock.Beat(b)*m.Beat() + clock.Beat(rapid.Int64Range(0, int64(m.Beat())-1).Draw(t, "in"))
					bar, start, meter := s.BarAt(at)
					require.Equal(t, int64(i), bar, "%d is in bar", at)
					require.Equal(t, line, start, "%d is in bar", at)
					require.Equal(t, m, meter, "%d is in bar", at)
					require.Equal(t, line, s.BarStart(s.Sections[k].Start, bar), "%d is in bar", at)
				}
				require.Equal(t, line, next, "the next bar line")
				next = s.NextBar(line)
			}
		}
		all := s.Length()
		total := int64(0)
		for k := range bars {
			total += s.SectionBars(int32(k))
		}
		whole := Length{Num: int32(total), Den: 1, Bars: true}
		require.Equal(t, all, s.PlaceAfter(0, whole), "%d bars on lies", total)
		whole.Num = -whole.Num
		require.Zero(t, s.PlaceAfter(all, whole), "%d bars back lies", total)
		require.Equal(t, total, s.BarsUntil(0, all), "bars until the end")
	})
}

// Time goes on with the beat and back to it, and a song is as long as its pieces.
func TestTimesThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _ := crooked(t)
		at := clock.Beat(rapid.Int64Range(-int64(quarter)*8, int64(s.Length())+int64(quarter)*8).Draw(t, "at"))
		when := s.TimeAt(at)
		back := s.BeatAt(when)
		require.LessOrEqual(t, max(back-at, at-back), s.TempoAt(at).Beats(3*clock.Time(len(s.Tempos)+1))+2, "%d is at %d ns, which is %d", at, when, back)
		later := at + clock.Beat(rapid.Int64Range(0, int64(quarter)*40).Draw(t, "on"))
		sum := when
		for b := at; b < later; { // piece by piece, each at its own tempo
			to := later
			for _, c := range s.Tempos {
				if c.At > b && c.At < to {
					to = c.At
				}
			}
			sum += s.TempoAt(b).Span(to - b)
			b = to
		}
		off := sum - s.TimeAt(later)
		require.LessOrEqual(t, max(off, -off), clock.Time(2*len(s.Tempos)+4), "from %d to %d by pieces: %d ns off", at, later, off)
	})
}

// Effects in bars and in beats begin anew with each bar of a new meter, in half
// time on every second, and a fade of two bars over the change is two bars long.
func TestCountedRunsOn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, bars := crooked(t)
		nth := clock.Beat(0)
		for _, lines := range bars {
			for _, line := range lines {
				m := s.MeterAt(line)
				got := s.countedBeats(line, m, true)
				require.Equal(t, nth*m.Bar(), got, "bar %d counts as %d of %d", nth, got, m.Bar())
				var f feel
				f.restart(0)
				f.setRate(1, 0)
				got = f.countedBeat(&s, line, m, true)
				require.Equal(t, nth*m.Bar()/2, got, "bar %d counts in half time as %d of %d", nth, got, m.Bar())
				nth++
			}
		}
	})
}

// crookedHall is the hall with that song alone.
func crookedHall(t testing.TB) *Program {
	p := hall(t)
	p.Songs, p.SetList = []Song{crookedMile()}, []int32{0}
	return p
}

// With the internal clock leading, every frame lies where the tempo map says,
// whatever the lead: the change of tempo falls on its beat. So it does when the
// section is played again.
func TestInternalClockFollowsTheMap(t *testing.T) {
	for _, lead := range []clock.Time{0, 40 * clock.Millisecond, 150 * clock.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			song := crookedMile()
			p := &placer{}
			g := play(t, func(c *LoopConfig) {
				c.Engine, c.Outputs, c.Lead = New(crookedHall(t)), []Output{p}, lead
				c.Clock = clock.NewTransport(clock.Config{Internal: song.Tempo, Ahead: lead + 50*clock.Millisecond})
			})
			p.loop.Store(g.loop)
			g.command(Command{Kind: SelectSong, Index: 0})
			g.until(clock.Second)
			g.event(clock.Start)
			g.until(18 * clock.Second)
			g.end()
			var from clock.Time
			seen := 0
			for i, pos := range p.pos {
				if !pos.Playing {
					continue
				}
				if from == 0 {
					from = pos.At - song.TimeAt(pos.Beat)
				}
				off := pos.At - from - song.TimeAt(pos.Beat)
				require.GreaterOrEqual(t, off, -clock.Microsecond, "lead %v: frame %d, beat %.4f", lead.Sub(0), i, pos.Beat.Quarters())
				require.LessOrEqual(t, off, clock.Microsecond, "lead %v: frame %d, beat %.4f", lead.Sub(0), i, pos.Beat.Quarters())
				for _, c := range song.Tempos {
					if pos.Beat == c.At {
						seen++ // a frame lies on it
					}
				}
			}
			last := p.pos[len(p.pos)-1]
			assert.GreaterOrEqual(t, last.Beat, 20*quarter, "lead %v: at beat %v", lead.Sub(0), last.Beat.Quarters())
			assert.Equal(t, clock.BPM(90), last.Tempo, "lead %v: at beat %v", lead.Sub(0), last.Beat.Quarters())
			assert.Equal(t, 1, seen, "lead %v: at beat %v", lead.Sub(0), last.Beat.Quarters())
		})
	}
}

// A section entered from elsewhere brings its tempo, and a MIDI clock that leads
// keeps its own.
func TestTempoFollowsSections(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := play(t, func(c *LoopConfig) { c.Engine = New(crookedHall(t)) })
		g.command(Command{Kind: SelectSong, Index: 0})
		g.event(clock.Start)
		for _, c := range []struct {
			section int32
			want    clock.Tempo
		}{{2, clock.BPM(90)}, {0, clock.BPM(120)}, {1, clock.BPM(120)}} {
			g.command(Command{Kind: FireSection, Index: c.section})
			g.until(g.base.Now() + 500*clock.Millisecond)
			s := g.snapshot()
			assert.Equal(t, c.want, s.Pos.Tempo)
			assert.Equal(t, c.section, s.Status.Section)
		}
		from := g.base.Now()
		g.ticks(100, from, from+6*clock.Second, nil)
		g.command(Command{Kind: FireSection, Index: 2})
		g.ticks(100, from+6*clock.Second, from+8*clock.Second, nil)
		s := g.snapshot()
		assert.EqualValues(t, 2, s.Status.Section)
		assert.GreaterOrEqual(t, s.Pos.Tempo, clock.BPM(99))
		assert.LessOrEqual(t, s.Pos.Tempo, clock.BPM(101))
		g.end()
	})
}

// Frames of a song that changes touch no heap.
func TestChangesWithoutHeap(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector allocates")
	}
	s := newStage(crookedHall(t))
	s.send(Command{Kind: SelectSong, Index: 0})
	s.transport("start", "")
	n := int32(0)
	assert.Zero(t, testing.AllocsPerRun(500, func() {
		n++
		s.move(s.pos.Tempo.Span(quarter/8), quarter/8)
		if n%64 == 0 {
			s.send(Command{Kind: ArmSection, Index: n / 64 % 3, When: When(n % 4)})
			s.send(Command{Kind: HalfTime})
		}
		s.frame()
		s.engine.nextMark(s.pos)
		s.engine.PlannedTempo(s.pos.Beat)
	}), "allocations a frame")
}
