package engine

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
)

// nextState returns the state after an event.
func nextState(p *Program, s State, e Event) State {
	s.advance(p, &e)
	return s
}

// events draws events as a clock gives them: positions that go on, stop, jump.
func events(t *rapid.T) []Event {
	var list []Event
	pos := clock.Position{Tempo: clock.BPM(120), At: clock.Second}
	for range rapid.IntRange(1, 60).Draw(t, "events") {
		span := rapid.SampledFrom([]clock.Time{0, clock.Millisecond, 23 * clock.Millisecond, clock.Second, 9 * clock.Second}).Draw(t, "span")
		pos.At += span
		pos.Pulse += pos.Tempo.Beats(span)
		switch rapid.IntRange(0, 9).Draw(t, "transport") {
		case 0:
			pos.Playing = !pos.Playing
		case 1:
			pos.Jumps++
			pos.Beat = clock.Beat(rapid.Int64Range(-4, 400).Draw(t, "beat")) * quarter
			pos.Pulse = pos.Beat
		default:
			if pos.Playing {
				pos.Beat += pos.Tempo.Beats(span)
			}
		}
		e := Event{Pos: pos}
		if rapid.Bool().Draw(t, "asks") {
			e.Command = commands(allKinds()...).Draw(t, "command")
		}
		list = append(list, e)
	}
	return list
}

// The state is a function of what came: a copy that is kept does not move, the
// same events from it come to the same, and the program is not touched.
func TestStateIsAValue(t *testing.T) {
	p := asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		list := events(t)
		states := []State{p.StartState()}
		for _, e := range list {
			states = append(states, nextState(p, states[len(states)-1], e))
		}
		from := rapid.IntRange(0, len(list)).Draw(t, "from")
		again := states[from]
		for i, e := range list[from:] {
			again = nextState(p, again, e)
			require.Equal(t, states[from+i+1], again, "event %d from state %d on differs", from+i, from)
		}
	})
}

// Nothing but a person's blackout, masters, hands and a look that says so makes
// a stage dark: with cues that are all lit, no order of events does.
func TestNothingDarkensTheStage(t *testing.T) {
	p := asPlayed(t)
	all := dims(lamps, 0.5)
	for i := range p.Songs {
		for j := range p.Songs[i].Cues {
			p.Songs[i].Cues[j].Parts, p.Songs[i].Cues[j].Effects = []Part{all}, nil
		}
		for _, v := range p.Songs[i].Variants {
			for j := range v.Cues {
				v.Cues[j].Parts, v.Cues[j].Effects = []Part{all}, nil
			}
		}
	}
	for i := range p.Looks {
		p.Looks[i].Parts, p.Looks[i].Effects = []Part{all}, nil
	}
	kinds := without(allKinds(), Blackout, GrandMaster, GroupMaster, Override)
	rapid.Check(t, func(t *rapid.T) {
		e := New(p)
		pos := clock.Position{}
		for _, ev := range events(t) {
			pos = ev.Pos
			for _, k := range kinds {
				if ev.Command.Kind == k {
					e.Do(ev.Command, ev.Pos)
				}
			}
			for h, level := range e.Frame(ev.Pos)[0].Slots[6:10] {
				require.EqualValues(t, 0x80, level, "lamp %d is at %#x at %v after %+v", h+1, level, pos.At.Sub(0), ev.Command)
			}
		}
	})
}

// Notes that come a little early wait; their first frame is the first at or past
// the boundary, and it happens once. Later ones are shown at once, with effects
// counted from the boundary. Whatever the lead.
func TestNoteWindow(t *testing.T) {
	for _, lead := range []clock.Time{0, 40 * clock.Millisecond, 90 * clock.Millisecond} {
		for _, c := range []struct {
			off     clock.Time // of the music from the boundary at beat 16
			waits   bool
			entered clock.Beat // where the section's first downbeat lies
		}{
			{-100 * clock.Millisecond, true, 16 * quarter},
			{-20 * clock.Millisecond, true, 16 * quarter},
			{0, false, 16 * quarter},
			{25 * clock.Millisecond, false, 16 * quarter},
			{-160 * clock.Millisecond, false, 15*quarter + quarter/2}, // late for the eighth before
		} {
			p := asPlayed(t)
			s := newStage(p)
			s.engine.play.lead = lead
			s.send(Command{Kind: SelectSong})
			s.transport("start", "")
			light := 16*quarter + s.pos.Tempo.Beats(c.off+lead) // the light is ahead of the music
			require.NoError(t, s.play(light))
			s.send(Command{Kind: FireNote, Index: 62})
			waits := c.waits && light < 16*quarter // the light may be past it already
			turns := s.engine.cueChanges
			s.frame()
			assert.Equal(t, waits, s.engine.play.armed.section != None, "lead %v, %v off", lead.Sub(0), c.off.Sub(0))
			assert.Equal(t, waits, s.engine.cueChanges == turns, "lead %v, %v off", lead.Sub(0), c.off.Sub(0))
			for s.pos.Beat < 18*quarter {
				before := s.engine.cueChanges
				s.move(s.pos.Tempo.Span(quarter/13), quarter/13) // frames fall anywhere
				s.frame()
				if s.engine.cueChanges != before {
					assert.GreaterOrEqual(t, s.pos.Beat, 16*quarter, "lead %v, %v off: first frame at %.3f", lead.Sub(0), c.off.Sub(0), s.pos.Beat.Quarters())
					assert.Less(t, s.pos.Beat-quarter/13, 16*quarter, "lead %v, %v off: first frame at %.3f", lead.Sub(0), c.off.Sub(0), s.pos.Beat.Quarters())
				}
			}
			assert.EqualValues(t, 1, s.engine.cueChanges-turns, "lead %v, %v off: times that the section was entered", lead.Sub(0), c.off.Sub(0))
			got := s.engine.play.origin + p.Songs[0].Sections[2].Start
			assert.Equal(t, c.entered, got, "lead %v, %v off: entered at %.3f, want %.3f", lead.Sub(0), c.off.Sub(0), got.Quarters(), c.entered.Quarters())
		}
	}
}

// A program change that comes a little early waits too: the song before it is
// lit up to the boundary.
func TestProgramChangeWaits(t *testing.T) {
	s := newStage(asPlayed(t))
	s.send(Command{Kind: SelectSong})
	s.transport("start", "")
	require.NoError(t, s.play(15*quarter+quarter*9/10)) // 50 ms early
	s.send(Command{Kind: SelectSong, Index: 4})
	s.frame()
	st := s.engine.Status(s.pos)
	require.Zero(t, st.Song)
	require.EqualValues(t, 4, st.SongArmed)
	require.NoError(t, s.play(16*quarter+quarter/50))
	st = s.engine.Status(s.pos)
	assert.EqualValues(t, 4, st.Song)
	assert.Equal(t, None, st.SongArmed)
	assert.Equal(t, quarter/50, st.Beat)
	assert.Equal(t, "calm", st.Look)
}

// Whatever waits is entered exactly on its boundary or released, whatever comes
// in between: with cues that know their place no cue begins elsewhere.
func TestArmedIsEnteredOnItsBoundaryOrReleased(t *testing.T) {
	p := asPlayed(t)
	rapid.Check(t, func(t *rapid.T) {
		s := p.StartState()
		for _, e := range events(t) {
			before := s
			s = nextState(p, s, e)
			was, is := before.play.armed, s.play.armed
			if was.section == None || is == was {
				continue
			}
			entered := s.play.song == before.play.song && s.play.earliest == p.Songs[s.play.song].Sections[was.section].Start &&
				s.play.origin == before.play.origin+was.boundary-p.Songs[s.play.song].Sections[was.section].Start
			if e.Command.Kind == 0 && !entered {
				require.NotEqual(t, before.play.jumps, e.Pos.Jumps, "%+v went without being entered or released", was)
			}
			if e.Command.Kind == 0 && entered {
				require.GreaterOrEqual(t, e.Pos.Beat, before.play.origin+was.boundary, "%+v entered early, at %.3f", was, e.Pos.Beat.Quarters())
			}
		}
	})
}
