package smf

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

var instant = engine.Span{Length: engine.Length{Den: 1}}

// meterOf returns a time signature.
func meterOf(t *testing.T, upper, lower int) engine.Meter {
	t.Helper()
	m, err := engine.NewMeter(upper, lower)
	require.NoError(t, err)
	return m
}

// songOf makes a song whose sections have these bars.
func songOf(name string, m engine.Meter, quarters clock.Tempo, program int16, firstNote uint8, bars ...int) engine.Song {
	names := []string{"intro", "verse 1", "chorus 1", "outro"}
	s := engine.Song{Name: name, Meter: m, Tempo: quarters, Program: program}
	at := clock.Beat(0)
	for i, n := range bars {
		length := clock.Beat(n) * m.Bar()
		s.Sections = append(s.Sections, engine.Section{
			Name: names[i], Start: at, Length: length, Energy: int8(3 + i), Note: firstNote + uint8(i),
		})
		s.Cues = append(s.Cues, engine.Cue{At: at, Name: names[i], Fade: instant})
		at += length
	}
	return s
}

// harbour is a small night: 4/4, 6/8 and 7/16, with a walk-out.
func harbour(t *testing.T) *engine.Program {
	t.Helper()
	profile, err := fixtures.NewProfile("dimmer", "", []fixtures.Channel{{Param: fixtures.Intensity}})
	require.NoError(t, err)
	patch, err := fixtures.NewPatch(1, []fixtures.Placement{{Name: "wash 1", Profile: profile, Address: 1}})
	require.NoError(t, err)
	four, six, seven := meterOf(t, 4, 4), meterOf(t, 6, 8), meterOf(t, 7, 16)
	p := &engine.Program{
		Name: "Harbour Hall", SetName: "Monthly Singalong", Patch: patch,
		Heads: []engine.Head{{Name: "wash 1"}},
		Looks: []engine.Cue{{Name: "doors", Fade: instant}, {Name: "good night", Fade: instant}},
		Songs: []engine.Song{
			songOf("Lanterns on the Pier", four, 96_000_000, 0, 36, 2, 4, 4),
			songOf("Tide Table Waltz", six, six.Quarters(60_000_000), 1, 48, 1, 3),
			songOf("Gull Street", seven, 133_333_333, 2, 60, 1, 2, 2),
		},
		SetList: []int32{0, 1, 2}, WalkIn: 0, WalkOut: 1,
		Notes: engine.NewNotes(), RunsOn: true,
	}
	p.Notes.Fire, p.Notes.Arm[engine.NextBar], p.Notes.Control = 1, 2, 16
	p.Notes.Controls[5] = engine.ShowWalkOut
	for i := range p.Songs {
		p.Notes.ByProgram[p.Songs[i].Program] = int32(i)
	}
	return p
}
