package replay

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/shows"
	"tactus/shows/showtest"
)

// The report lists program changes that came while a song played, and what became of
// them: once, and not again after an edit. They are not by hand.
func TestReportListsProgramChanges(t *testing.T) {
	show := showtest.Demo(t)
	h := journal.Header{Show: showfiles.Demo, Clock: clock.Config{Internal: clock.BPM(72), Lead: clock.LeadInternal}}
	src := h.AppendTo(nil)
	at, n := clock.Time(0), uint64(0)
	add := func(r engine.Record) {
		r.At, r.Event.At = at, at
		src = journal.AppendRecord(src, &r)
	}
	frames := func(count int) {
		for range count {
			at += clock.Second / 44
			add(engine.Record{Kind: engine.RecordFrame, Frame: n})
			n++
		}
	}
	command := func(k engine.CommandKind, index int32) {
		add(engine.Record{Kind: engine.RecordCommand, Command: engine.Command{Kind: k, Index: index}})
	}
	command(engine.SelectByProgram, 1)
	add(engine.Record{Kind: engine.RecordEvent, Event: clock.Event{Kind: clock.Start}})
	frames(10 * 44)
	command(engine.SelectByProgram, 2)
	frames(44)
	add(engine.Record{Kind: engine.RecordEvent, Event: clock.Event{Kind: clock.Stop}})
	frames(1)
	add(engine.Record{Kind: engine.RecordReload})
	frames(44)
	add(engine.Record{Kind: engine.RecordEvent, Event: clock.Event{Kind: clock.Start}})
	frames(10 * 44)
	command(engine.SelectByProgram, 1) // a mistake
	add(engine.Record{Kind: engine.RecordReload})
	frames(1)
	mistake := at
	add(engine.Record{Kind: engine.RecordEvent, Event: clock.Event{Kind: clock.Stop}})
	frames(1)
	stopped := at
	add(engine.Record{Kind: engine.RecordEvent, Event: clock.Event{Kind: clock.Continue}})
	frames(5 * 44)
	command(engine.FireNote, 43) // of Saturday's outro; Lanterns has no such note
	frames(1)
	back := at
	add(engine.Record{Kind: engine.RecordReload})
	frames(44)
	read, err := journal.NewReader(bytes.NewReader(src))
	require.NoError(t, err)
	r, err := New(read, show, []*shows.Show{showtest.Demo(t), showtest.Demo(t), showtest.Demo(t)})
	require.NoError(t, err)
	r.Report()
	require.NoError(t, r.Run())
	require.Empty(t, r.edited, "an edit was not reached: %s", r.earlyEnd)
	const lanterns, saturday = "Lanterns on the Pier", "Saturday on the Slipway"
	p := r.reports[0]
	for i, want := range [][]string{{
		p.clock(10*clock.Second+clock.Second/44) + "  " + saturday + " waits, " + lanterns + " plays",
		p.clock(11*clock.Second+clock.Second/44) + "  " + saturday + " is chosen",
	}, nil, {
		p.clock(mistake) + "  " + lanterns + " waits, " + saturday + " plays",
		p.clock(stopped) + "  " + lanterns + " is chosen",
		p.clock(back) + "  " + saturday + " is back by its note, instead of " + lanterns,
	}, nil} {
		var out bytes.Buffer
		r.reports[i].print(&out)
		if want == nil {
			assert.NotContains(t, out.String(), "Program changes", "report %d", i)
		} else {
			assert.Contains(t, out.String(), "\nProgram changes while a song played:\n"+strings.Join(want, "\n")+"\n\n", "report %d", i)
		}
		assert.NotContains(t, out.String(), "By hand", "report %d", i)
	}
	var out bytes.Buffer
	r.Print(&out)
	assert.Equal(t, 2, strings.Count(out.String(), "Program changes"), "the reports are not all printed")
}

// A program change's song that waits for its downbeat is listed as chosen there, by its
// own name.
func TestReportListsSongsOnTheirDownbeat(t *testing.T) {
	const plays, waits = int32(2), int32(1)
	p := newPlayedReport(showtest.Demo(t).Program, time.Time{}, 0, nil)
	p.programs(clock.Second, &engine.Status{Song: plays, SongArmed: waits, Programs: engine.ProgramStatus{Song: waits, Begun: 1}})
	assert.Empty(t, p.armed)
	p.programs(2*clock.Second, &engine.Status{Song: waits, SongArmed: engine.None, Programs: engine.ProgramStatus{Song: waits, Begun: 1}})
	assert.Equal(t, []string{p.clock(2*clock.Second) + "  Lanterns on the Pier is chosen"}, p.armed)
}

// A song that is released before its downbeat is not chosen.
func TestReportOmitsReleasedSongs(t *testing.T) {
	const plays, waits = int32(2), int32(1)
	p := newPlayedReport(showtest.Demo(t).Program, time.Time{}, 0, nil)
	p.programs(clock.Second, &engine.Status{Song: plays, SongArmed: waits, Programs: engine.ProgramStatus{Song: waits, Begun: 1}})
	p.programs(2*clock.Second, &engine.Status{Song: plays, SongArmed: engine.None, Programs: engine.ProgramStatus{Song: waits, Begun: 1}})
	assert.Empty(t, p.armed)
}
