package engine_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// tempoSong has a looping section of two bars at 120 and one of two bars at 90, where
// the tempo changes to 100 after a bar.
func tempoSong(t *testing.T) *engine.Program {
	patch, err := fixtures.NewPatch(1, nil)
	require.NoError(t, err)
	return &engine.Program{
		Patch: patch, WalkIn: engine.None, WalkOut: engine.None, Talk: engine.None, Pad: engine.None, Notes: engine.NewNotes(),
		SetList: []int32{0},
		Songs: []engine.Song{{
			Name: "Slack Water", Tempo: clock.BPM(120), Meter: engine.Meter{Upper: 4, Lower: 4},
			Sections: []engine.Section{
				{Name: "verse", Length: 8 * clock.Quarter, Loop: true, Note: engine.NoNote},
				{Name: "chorus", Start: 8 * clock.Quarter, Length: 8 * clock.Quarter, Note: engine.NoNote},
			},
			Tempos: []engine.TempoChange{
				{At: 8 * clock.Quarter, Tempo: clock.BPM(90)},
				{At: 12 * clock.Quarter, Tempo: clock.BPM(100)},
			},
		}},
	}
}

// The internal clock has each tempo from its beat on, also where an armed section
// follows a looping one: every beat comes when those tempos have it come, within a
// quarter of a millisecond.
func TestTempoAfterALoopHoldsFromItsBeat(t *testing.T) {
	o := engine.NewOffline(engine.New(tempoSong(t)), clock.NewTransport(clock.Config{Lead: clock.LeadInternal}))
	input := []engine.Input{
		{Command: engine.Command{Kind: engine.SelectPlace}},
		{Event: clock.Event{At: o.NextDue(), Kind: clock.Start}},
	}
	start, armed := o.NextDue(), false
	half := clock.Second / 2
	want := []struct {
		beat clock.Beat // of the transport
		at   clock.Time // after the start
	}{
		{8, 8 * half},
		{12, 12 * half}, // in the first section again
		{16, 16 * half}, // the second section begins
		{20, 16*half + 4*60*clock.Second/90},
		{24, 16*half + 4*60*clock.Second/90 + 4*60*clock.Second/100},
	}
	for len(want) > 0 {
		now := o.NextDue()
		pos, _, made := o.MakeFrame(now, input...)
		input = input[:0]
		if !made {
			continue
		}
		if pos.Beat >= 10*clock.Quarter && !armed {
			armed = true
			input = append(input, engine.Input{Command: engine.Command{Kind: engine.ArmSection, Index: 1, When: engine.SectionEnd}})
		}
		if w := want[0]; pos.Beat >= w.beat*clock.Quarter {
			assert.InDelta(t, float64(w.at), float64(pos.At-start), float64(clock.Millisecond/4), "beat %d", w.beat)
			want = want[1:]
		}
		require.Less(t, now, 20*clock.Second)
	}
}
