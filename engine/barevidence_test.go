package engine

import (
	"fmt"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

// sectioned is a song of sections of two bars, with a note each from 40 on.
func sectioned(t testing.TB, sections int) *Program {
	p := barProgram(t, 2*sections)
	p.Window = 120 * clock.Millisecond
	s := &p.Songs[0]
	s.Sections = nil
	for i := range sections {
		s.Sections = append(s.Sections, Section{
			Name: fmt.Sprint("part ", i), Start: clock.Beat(i) * 8 * quarter, Length: 8 * quarter, Note: uint8(40 + i),
		})
	}
	return p
}

// daw plays to a loop at 120 quarters a minute as it likes: it counts its own
// ticks, and what it sends may get lost.
type daw struct {
	*gig
	n     int        // ticks that it has counted
	at    clock.Time // of the last
	deaf  bool       // nothing arrives
	early clock.Time // how early its notes are drawn
	took  *Journal
}

const dawTick = clock.Second / 48

// goOn lets so many ticks pass, a period each. A note is sent early before the
// tick that is a multiple of every, or a moment behind it.
func (d *daw) goOn(ticks int, period clock.Time, every int) {
	whole := int(d.early / period)
	for range ticks {
		note := (d.n + 1 + max(whole, 0)) % every
		if note == 0 && d.early > 0 {
			d.until(d.at + period - d.early%period)
			d.play(int32((d.n + 1 + whole) / every))
		}
		d.at += period
		d.until(d.at)
		d.n++
		if !d.deaf {
			d.event(clock.Tick24)
		}
		if note == 0 && d.early <= 0 {
			d.until(d.at - d.early + clock.Millisecond/2)
			d.play(int32(d.n / every))
		}
	}
}

// play sends the note of a section. The band does not keep to the plan.
func (d *daw) play(number int32) {
	if !d.deaf {
		d.input <- Input{At: d.base.Now(), Command: Command{Kind: FireNote, Index: 40 + number*7%30}}
	}
}

// gain plays a part while the cable is out for a bar, in which the DAW gains two
// ticks.
func (d *daw) gain() {
	d.deaf = true
	d.goOn(96, dawTick*94/96, partTicks)
	d.deaf = false
	d.goOn(partTicks-96, dawTick, partTicks)
}

func (d *daw) bars() BarOffset { return d.snapshot().Health.BarOffset }

// off returns how far the section is from where the DAW has it.
func (d *daw) off() clock.Beat {
	s := d.snapshot()
	off := s.Status.Beat - clock.BPM(120).Beats(s.Pos.At-d.at) - clock.Beat(d.n)*clock.Tick
	return off - off.RoundTo(8*quarter)
}

const partTicks = 192 // ticks

// startDAW begins the song and plays four parts.
func startDAW(t *testing.T, early clock.Time) *daw {
	d := &daw{early: early, n: -1, took: NewJournal(1 << 16)}
	d.gig = play(t, func(c *LoopConfig) { c.Engine, c.Journal = New(sectioned(t, 30)), d.took })
	d.command(Command{Kind: SelectSong, Index: 0})
	d.at = clock.Second
	d.goOn(48, dawTick, 1<<20) // a clock that runs before it starts
	d.n = -1
	d.event(clock.Start)
	d.goOn(4*partTicks, dawTick, partTicks)
	return d
}

// A cable that is out while the DAW gains two ticks leaves the count two ticks
// behind. The notes tell, from the third on, whether they are drawn on the beat or
// before it; and one press mends it.
func TestNotesTellOfLostTicks(t *testing.T) {
	for _, early := range []clock.Time{0, 12 * clock.Millisecond, 30 * clock.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			d := startDAW(t, early)
			require.Less(t, max(d.off(), -d.off()), clock.Tick/8)
			d.gain()
			d.goOn(partTicks, dawTick, partTicks)
			require.Zero(t, d.bars(), "two notes are not enough")
			require.InDelta(t, -2*float64(clock.Tick), float64(d.off()), float64(clock.Tick)/4)
			d.goOn(partTicks, dawTick, partTicks)
			d.goOn(48, dawTick, partTicks)
			got := d.bars()
			require.Equal(t, BarOffset{Ticks: -2, Notes: 3, By: got.By}, got)
			require.InDelta(t, float64(-2*dawTick), float64(got.By), float64(clock.Millisecond))

			d.command(Command{Kind: AlignBars})
			d.goOn(48, dawTick, partTicks)
			require.Zero(t, d.bars())
			require.Less(t, max(d.off(), -d.off()), clock.Tick/4, "the bars are the DAW's")
			for range 5 { // and the notes that follow agree
				d.goOn(partTicks, dawTick, partTicks)
				require.Zero(t, d.bars())
				require.Less(t, max(d.off(), -d.off()), clock.Tick/4)
			}
			d.command(Command{Kind: AlignBars}) // again: nothing is left to do
			d.goOn(24, dawTick, partTicks)
			require.Less(t, max(d.off(), -d.off()), clock.Tick/4)
			require.NoError(t, d.end())
		})
	}
}

// A journal holds what a press came to, and gives the same light again.
func TestAlignedBarsAreReplayed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := startDAW(t, 0)
		d.gain()
		d.goOn(2*partTicks+48, dawTick, partTicks)
		d.command(Command{Kind: AlignBars})
		d.goOn(partTicks, dawTick, partTicks)
		require.NoError(t, d.end())
		d.took.Close()
		r := NewReplay(sectioned(t, 30), clock.Config{}, 0)
		pressed := false
		for rec := range d.took.Records() {
			require.NotEqual(t, RecordGap, rec.Kind)
			if rec.Kind == RecordCommand && rec.Command.Kind == AlignBars {
				pressed = true
				require.Equal(t, int32(-2), rec.Command.Index)
			}
			if u := r.PlayRecord(&rec); rec.Kind == RecordFrame {
				require.Equal(t, rec.Sum, Sum(u), "frame %d", rec.Frame)
			}
		}
		require.True(t, pressed)
		require.Equal(t, -2*clock.Tick, r.engine.play.dawDelay)
	})
}

// What the count or the next note mends, what one note does, and what the DAW's
// own song position settles, is not told.
func TestNotesTellOfNothingElse(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(*daw)
	}{
		{"all is well", func(*daw) {}},
		{"a tick gets lost where the clock sees it", func(d *daw) {
			d.deaf = true
			d.goOn(1, dawTick, 1<<20)
			d.deaf = false
			d.goOn(partTicks-1, dawTick, partTicks)
		}},
		{"a beat is put in, time and again", func(d *daw) {
			for range 4 {
				d.goOn(24, dawTick, 1<<20)
				d.n -= 24 // the next note comes a beat later
				d.goOn(partTicks, dawTick, partTicks)
			}
		}},
		{"notes are drawn early from now on, but not by whole ticks", func(d *daw) { d.early = 10 * clock.Millisecond }},
		{"one note is two ticks late", func(d *daw) {
			d.early = -2 * dawTick
			d.goOn(partTicks, dawTick, partTicks)
			d.early = 0
		}},
		{"a song position came while it played", func(d *daw) {
			d.input <- Input{Event: clock.Event{At: d.base.Now(), Kind: clock.Locate, Sixteenths: int32(d.n+1) / 6}}
			d.gain()
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				d := startDAW(t, 0)
				c.do(d)
				for range 6 {
					d.goOn(partTicks, dawTick, partTicks)
					require.Zero(t, d.bars())
				}
				require.NoError(t, d.end())
			})
		})
	}
}

// Notes of another port are played by a person, who may be early or late.
func TestNotesOfTheDAWAloneTell(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := startDAW(t, 0)
		d.gain()
		d.goOn(1, dawTick, 1<<20)
		four := func(dawOwn bool) BarOffset {
			for i := range int32(4) {
				d.goOn(partTicks, dawTick, 1<<20)
				in := Input{Command: Command{Kind: FireNote, Index: 48 + i}}
				if dawOwn {
					in.At = d.base.Now()
				}
				d.input <- in
			}
			d.goOn(24, dawTick, 1<<20)
			return d.bars()
		}
		assert.Zero(t, four(false))
		assert.Equal(t, int32(-2), four(true).Ticks)
		require.NoError(t, d.end())
	})
}

// testSlack is what notes stray by in the tests below.
const testSlack = clock.Tick / 10

// bear lets evidence take notes of sections 0, 1, ... a bar apart that lie off by
// so much, and returns what it has then shown.
func bear(w *barEvidence, off ...clock.Beat) int32 {
	for _, o := range off {
		w.addNote(int32(w.last/(4*quarter))%100, w.last+4*quarter, o, testSlack, 2*clock.Tick)
	}
	return w.shownTicks()
}

func TestEvidence(t *testing.T) {
	const tick = clock.Tick
	for _, c := range []struct {
		name string
		off  []clock.Beat
		want int32
	}{
		{"on the beat", []clock.Beat{0, 0, 0, 0, 0, 0}, 0},
		{"two do not make it", []clock.Beat{0, 0, 0, tick, tick}, 0},
		{"three do", []clock.Beat{0, 0, 0, tick, tick, tick}, 1},
		{"nearly a tick is one", []clock.Beat{0, 0, tick + testSlack, tick - testSlack, tick}, 1},
		{"half a tick is none", []clock.Beat{0, 0, tick / 2, tick / 2, tick / 2}, 0},
		{"one that disagrees begins anew", []clock.Beat{0, 0, tick, tick, 0, tick, tick}, 0},
		{"different ticks do not agree", []clock.Beat{0, 0, tick, 2 * tick, tick, 2 * tick}, 0},
		{"a habit of being early", []clock.Beat{-tick, -tick, -tick, -tick}, 0},
		{"a tick behind an early habit", []clock.Beat{-tick, -tick, 0, 0, 0}, 1},
		{"a tick before an early habit", []clock.Beat{-tick / 2, -tick / 2, -tick * 3 / 2, -tick * 3 / 2, -tick * 3 / 2}, -1},
		{"late from the start, which nobody draws", []clock.Beat{3 * tick, 3 * tick, 3 * tick}, 3},
		{"earlier from the start than anybody draws", []clock.Beat{-4 * tick, -4 * tick, -4 * tick}, -4},
		{"early from the start may be drawn so", []clock.Beat{-2 * tick, -2 * tick, -2 * tick, -2 * tick}, 0},
		{"one bad note first is no habit", []clock.Beat{-tick, 0, 0, 0, 0, 0}, 0},
		{"back again", []clock.Beat{0, 0, tick, tick, tick, 0}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			var w barEvidence
			assert.Equal(t, c.want, bear(&w, c.off...))
		})
	}
	t.Run("a note that strays too far tells nothing", func(t *testing.T) {
		var w barEvidence
		bear(&w, 0, 0)
		for i := range int32(9) {
			w.addNote(i, w.last+4*quarter, tick, tick/tickShare+1, 0)
		}
		assert.Zero(t, w.shownTicks())
	})
	t.Run("a chord is one note", func(t *testing.T) {
		var w barEvidence
		bear(&w, 0, 0)
		at := w.last + 4*quarter
		for i := range int32(3) {
			w.addNote(50+i, at+clock.Beat(i), tick, testSlack, 0)
		}
		assert.Zero(t, w.shownTicks())
	})
	t.Run("one section that goes round is no habit", func(t *testing.T) {
		var w barEvidence
		for range 3 {
			w.addNote(7, w.last+4*quarter, -tick, testSlack, 2*tick)
		}
		assert.Zero(t, bear(&w, 0, 0, 0, 0))
	})
	t.Run("one section that goes round is one note", func(t *testing.T) {
		var w barEvidence
		bear(&w, 0, 0)
		for range 9 {
			w.addNote(7, w.last+4*quarter, tick, testSlack, 0)
		}
		assert.Zero(t, w.shownTicks())
	})
	t.Run("a start begins anew", func(t *testing.T) {
		var w barEvidence
		bear(&w, 0, 0, tick, tick)
		w.handleTransport(clock.Start)
		assert.Zero(t, bear(&w, 0, 0, tick, tick))
		assert.Equal(t, int32(1), bear(&w, tick))
	})
	for name, kinds := range map[string][]clock.Kind{
		"a position, then play": {clock.Stop, clock.Locate, clock.Continue}, "a position, then from the start": {clock.Locate, clock.Start},
	} {
		t.Run(name, func(t *testing.T) {
			var w barEvidence
			for _, k := range kinds {
				w.handleTransport(k)
			}
			assert.Zero(t, bear(&w, 0, 0, tick, tick, tick, tick))
			w.handleTransport(clock.Stop)
			w.handleTransport(clock.Start) // without a position: notes count again
			assert.Equal(t, int32(1), bear(&w, 0, 0, tick, tick, tick))
		})
	}
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		var w barEvidence
		bear(&w, 0, 0, tick, tick, tick)
		_ = w.barOffset(clock.BPM(120))
	}))
}

// One note that is drawn anywhere, among notes that agree, is never told of; nor
// is anything while all notes stray within their slack.
func TestEvidenceProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var w barEvidence
		habit := clock.Beat(rapid.Int64Range(-int64(2*clock.Tick), 0).Draw(t, "habit"))
		bad := rapid.IntRange(0, 18).Draw(t, "bad")
		wrong := clock.Beat(rapid.Int64Range(-int64(quarter/4), int64(quarter/4)).Draw(t, "wrong"))
		for i := range 20 {
			off := habit + clock.Beat(rapid.Int64Range(-int64(testSlack/2), int64(testSlack/2)).Draw(t, "stray"))
			if i == bad {
				off = wrong
			}
			require.Zero(t, bear(&w, off), "after note %d", i)
		}
		// From here on the count is wrong, and that is found with the third note.
		ticks := rapid.SampledFrom([]int32{-5, -3, -2, -1, 1, 2, 3, 5}).Draw(t, "ticks")
		for i := range 3 {
			got := bear(&w, habit+clock.Beat(ticks)*clock.Tick)
			require.Equal(t, i == 2, got == ticks, "note %d", i)
			require.Contains(t, []int32{0, ticks}, got, "note %d", i)
		}
	})
}

// Bars that are moved back leave the section that has begun where it is: it does
// not begin twice. What waits for its downbeat moves along, and a jump of the
// transport ends it.
func TestAlign(t *testing.T) {
	pos := func(beat clock.Beat, jumps uint32) clock.Position {
		return clock.Position{At: clock.BPM(120).Span(beat), Beat: beat, Pulse: beat, Tempo: clock.BPM(120), Playing: true, Jumps: jumps, Source: clock.MIDI, Sync: clock.Locked}
	}
	p := sectioned(t, 8)
	p.Songs = append(p.Songs, p.Songs[0])
	e := New(p)
	e.Do(Command{Kind: SelectSong}, clock.Position{Tempo: clock.BPM(120)})
	for at := clock.Beat(0); at <= 8*quarter; at += quarter / 4 {
		e.Frame(pos(at, 1))
	}
	e.Do(Command{Kind: AlignBars, Index: 2}, pos(8*quarter, 1))
	e.Frame(pos(8*quarter, 1))
	s := e.Status(pos(8*quarter, 1))
	require.Equal(t, int32(1), s.Section)
	require.Equal(t, 1, s.Pass)
	for at := 8 * quarter; at < 16*quarter; at += quarter / 4 {
		e.Frame(pos(at, 1))
	}
	s = e.Status(pos(15*quarter, 1))
	require.Equal(t, 1, s.Pass)
	require.Equal(t, 15*quarter-2*clock.Tick, s.Beat)

	// A song that was chosen a little early begins on the DAW's beat.
	early := 16*quarter + 2*clock.Tick - clock.Tick
	e.Do(Command{Kind: SelectSong, Index: 1}, pos(early, 1))
	require.Equal(t, int32(1), e.Status(pos(early, 1)).SongArmed)
	e.Do(Command{Kind: AlignBars, Index: -1}, pos(early, 1))
	e.Frame(pos(20*quarter, 1))
	require.Equal(t, int32(1), e.Status(pos(20*quarter, 1)).Song)
	require.Equal(t, 4*quarter-clock.Tick, e.Status(pos(20*quarter, 1)).Beat)

	// More than a note can be off is refused, and a jump ends it all.
	before := e.State
	e.Do(Command{Kind: AlignBars, Index: maxBarTicks + 1}, pos(20*quarter, 1))
	require.Equal(t, before, e.State)
	e.Frame(pos(quarter, 2))
	require.Equal(t, clock.Beat(0), e.play.dawDelay)
	require.Equal(t, quarter, e.Status(pos(quarter, 2)).Beat)

	// Where songs follow each other on one transport, a song that began on bars that
	// were moved lies where the DAW has it once its position is known.
	p.RunsOn = true
	e = New(p)
	e.Do(Command{Kind: SelectSong}, pos(0, 1))
	e.Frame(pos(quarter, 1))
	e.Do(Command{Kind: AlignBars, Index: 2}, pos(4*quarter, 1))
	e.Do(Command{Kind: SelectSong, Index: 1}, pos(8*quarter+2*clock.Tick, 1))
	e.Frame(pos(9*quarter, 1))
	require.Equal(t, quarter-2*clock.Tick, e.Status(pos(9*quarter, 1)).Beat)
	e.Frame(pos(9*quarter, 2))
	require.Equal(t, quarter, e.Status(pos(9*quarter, 2)).Beat)
}

// Notes are drawn earlier by the lead: what would be too early without one is not.
func TestEvidenceKnowsTheLead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := &daw{early: 4 * dawTick, n: -1}
		d.gig = play(t, func(c *LoopConfig) { c.Engine, c.Lead = New(sectioned(t, 30)), 60*clock.Millisecond })
		d.command(Command{Kind: SelectSong, Index: 0})
		d.at = clock.Second
		d.goOn(48, dawTick, 1<<20)
		d.n = -1
		d.event(clock.Start)
		d.goOn(6*partTicks, dawTick, partTicks)
		require.Zero(t, d.bars())
		require.NoError(t, d.end())
	})
}
