package live

import (
	"bytes"
	"net/netip"
	"testing"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/sacn"
	"tactus/shows"
)

// deskShow takes in two universes and sends one.
func deskShow() *shows.Show {
	return &shows.Show{
		Program: &engine.Program{LevelInputs: []engine.LevelInput{{Name: "house desk"}, {Name: "side", Hold: true}}},
		Inputs:  []shows.Input{{Name: "house desk", Universe: 11}, {Name: "side", Universe: 12}},
		Outputs: shows.Outputs{Universes: []shows.Universe{
			{Name: "stage", Protocol: shows.SACN, Number: 1, Priority: 100}, {Name: "foyer", Protocol: shows.ArtNet, Number: 3}, {Name: "paper"},
		}},
	}
}

func fromDesk(base clock.Base, universe uint16, n, priority uint8, o sacn.Options) sacn.Packet {
	return sacn.Packet{At: base.Now(), From: netip.MustParseAddrPort("10.0.0.5:5568"), Data: &sacn.DataPacket{
		CID: [16]byte{1}, Universe: universe, Sequence: n, Priority: priority, Options: o,
		SourceName: sacn.NewSourceName("Hall\x1b desk"), Slots: []byte{n, 2, 3},
	}}
}

// What there is to know is told once, in words; this run's own packets do not count,
// and names from the network cannot reach the terminal as they are.
func TestLevelInputsTell(t *testing.T) {
	var log bytes.Buffer
	base := clock.NewBase()
	l := newLevelInputs(deskShow(), &Options{Inputs: true}, [16]byte{9}, base, zerolog.New(&log))
	require.NotNil(t, l)
	assert.Equal(t, []uint16{11, 12, 1}, l.join)
	told := func() string {
		log.Reset()
		l.report()
		first := log.String()
		log.Reset()
		l.report()
		assert.Empty(t, log.String(), "told twice")
		return first
	}
	first := told()
	assert.Contains(t, first, "input house desk (sACN 11): nothing has come yet")
	assert.Contains(t, first, "input side (sACN 12): nothing has come yet")
	assert.NotContains(t, first, "stage")

	own := fromDesk(base, 1, 1, 200, 0)
	own.Data.CID = [16]byte{9}
	l.take(own)
	l.take(fromDesk(base, 1, 1, 99, 0))
	assert.Empty(t, told(), "this run, and a source below it")
	l.take(fromDesk(base, 1, 2, 100, 0))
	assert.Contains(t, told(), `universe stage (sACN 1): \"Hall� desk\" at 10.0.0.5 has priority 100, the same as ours: receivers take the highest level`)
	l.take(fromDesk(base, 1, 3, 150, 0))
	assert.Contains(t, told(), "has priority 150, ours 100: the lamps follow it")
	l.take(fromDesk(base, 1, 4, 150, sacn.StreamTerminated))
	assert.Contains(t, told(), "universe stage: no other source at our priority or above any more")

	l.take(fromDesk(base, 11, 1, 100, 0))
	l.take(fromDesk(base, 12, 1, 100, 0))
	assert.Contains(t, told(), `input house desk (sACN 11): \"Hall� desk\" at 10.0.0.5 has priority 100`)
	l.take(fromDesk(base, 11, 2, 100, sacn.StreamTerminated))
	l.take(fromDesk(base, 12, 2, 100, sacn.StreamTerminated))
	gone := told()
	assert.Contains(t, gone, "input house desk (sACN 11): its source is gone; its last levels are released")
	assert.Contains(t, gone, "input side (sACN 12): its source is gone; its last levels are held")
	assert.Len(t, l.lines(), 2)
	l.fault = assert.AnError
	assert.Contains(t, told(), "inputs are not received, tried again every second: "+assert.AnError.Error())
	l.fault = nil
	assert.Contains(t, told(), "inputs are received again")
}

// Nothing is received where nothing was asked for.
func TestLevelInputsAreOptional(t *testing.T) {
	show := deskShow()
	for _, f := range []Options{{}, {Others: true}, func() (f Options) { f.Inputs, f.Protocol = true, "virtual"; return f }()} {
		assert.Nil(t, newLevelInputs(show, &f, [16]byte{}, clock.NewBase(), zerolog.Nop()))
	}
	show.Inputs, show.Program = nil, &engine.Program{}
	assert.Nil(t, newLevelInputs(show, &Options{Inputs: true}, [16]byte{}, clock.NewBase(), zerolog.Nop()))
	l := newLevelInputs(show, &Options{Inputs: true, Others: true}, [16]byte{}, clock.NewBase(), zerolog.Nop())
	require.NotNil(t, l)
	assert.Equal(t, []uint16{1}, l.join)
	l.take(fromDesk(l.base, 1, 1, 150, 0))
	assert.Len(t, l.lines(), 1)
	for range mostWatched {
		show.Outputs.Universes = append(show.Outputs.Universes, shows.Universe{Protocol: shows.SACN, Number: 2})
	}
	var log bytes.Buffer
	l = newLevelInputs(show, &Options{Inputs: true, Others: true}, [16]byte{}, clock.NewBase(), zerolog.New(&log))
	assert.Empty(t, l.join)
	assert.Contains(t, log.String(), "they are too many")
	var none *levelInputs
	none.report()
	assert.Nil(t, none.lines())
	assert.Nil(t, none.levels())
}

func TestLevelInputsWithoutHeap(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector allocates")
	}
	base := clock.NewBase()
	l := newLevelInputs(deskShow(), &Options{Inputs: true}, [16]byte{9}, base, zerolog.Nop())
	in, other := fromDesk(base, 11, 0, 100, 0), fromDesk(base, 1, 0, 100, 0)
	take := func() {
		for _, p := range []sacn.Packet{in, other} {
			p.Data.Sequence++
			p.Data.Slots[0]++
			l.take(p)
		}
	}
	take()
	assert.Zero(t, testing.AllocsPerRun(200, take), "allocations for two packets")
}
