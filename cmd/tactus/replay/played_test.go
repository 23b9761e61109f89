package replay

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/shows/showtest"
)

// The report lists program changes that came while a song played, and what became of
// them; they are not by hand.
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
	read, err := journal.NewReader(bytes.NewReader(src))
	require.NoError(t, err)
	r := New(read, show, nil)
	r.Report()
	require.NoError(t, r.Run())
	var out bytes.Buffer
	r.Print(&out)
	p := r.reports[0]
	assert.Contains(t, out.String(), fmt.Sprintf("\nProgram changes while a song played:\n%s  Saturday on the Slipway waits, Lanterns on the Pier plays\n%s  Saturday on the Slipway is chosen\n",
		p.clock(10*clock.Second+clock.Second/44), p.clock(11*clock.Second+clock.Second/44)))
	assert.NotContains(t, out.String(), "By hand")
}
