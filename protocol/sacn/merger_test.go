package sacn_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/protocol/sacn"
)

// mergeStep is something that a merging receiver hears or waits for, and what it
// shows then.
type mergeStep struct {
	at      clock.Time // ms
	from    byte       // source; 0: only time passes
	edit    func(p *sacn.DataPacket)
	sync    uint16 // address of a sync packet instead
	verdict sacn.Verdict
	shows   []byte // the first slots; nil: not looked at
	sources int
	prio    uint8
}

func slots(v ...byte) func(p *sacn.DataPacket) { return func(p *sacn.DataPacket) { p.Slots = v } }

func at(priority uint8, v ...byte) func(p *sacn.DataPacket) {
	return func(p *sacn.DataPacket) { p.Priority, p.Slots = priority, v }
}

func optionsOf(o sacn.Options, v ...byte) func(p *sacn.DataPacket) {
	return func(p *sacn.DataPacket) { p.Options, p.Slots = o, v }
}

func synced(address uint16, o sacn.Options, v ...byte) func(p *sacn.DataPacket) {
	return func(p *sacn.DataPacket) { p.SyncAddress, p.Options, p.Slots = address, o, v }
}

func numbered(n uint8, v ...byte) func(p *sacn.DataPacket) {
	return func(p *sacn.DataPacket) { p.Sequence, p.Slots = n, v }
}

// mergeCases are the rules by clause of E1.31-2018. Sub-clauses of 6.2.3 and 11.1 are
// from memory; the rest is in the reference notes.
var mergeCases = map[string]struct {
	config sacn.MergerConfig
	steps  []mergeStep
}{
	"6.2.3: the highest priority wins, from its first packet to its last": {steps: []mergeStep{
		{at: 0, from: 1, edit: at(100, 10, 20), shows: []byte{10, 20}, sources: 1, prio: 100},
		{at: 10, from: 2, edit: at(150, 5, 0), shows: []byte{5, 0}, sources: 1, prio: 150},
		{at: 20, from: 1, edit: at(100, 90, 90), shows: []byte{5, 0}, sources: 1, prio: 150},
		{at: 30, from: 2, edit: at(99, 5, 0), shows: []byte{90, 90}, sources: 1, prio: 100},
		{at: 40, from: 1, edit: at(0, 7, 7), shows: []byte{5, 0}, sources: 1, prio: 99},
		{at: 50, from: 2, edit: at(0, 5, 9), shows: []byte{7, 9}, sources: 2, prio: 0},
		{at: 60, from: 2, edit: at(200, 1, 1), shows: []byte{1, 1}, sources: 1, prio: 200},
	}},
	"6.2.3.1: among equals the highest level": {steps: []mergeStep{
		{at: 0, from: 1, edit: slots(10, 200, 0), shows: []byte{10, 200, 0}, sources: 1, prio: 100},
		{at: 1, from: 2, edit: slots(40, 100), shows: []byte{40, 200, 0}, sources: 2, prio: 100},
		{at: 2, from: 1, edit: slots(10, 50, 3), shows: []byte{40, 100, 3}, sources: 2, prio: 100},
		{at: 3, from: 2, edit: slots(), shows: []byte{10, 50, 3}, sources: 2, prio: 100},
	}},
	"6.2.3.1: among equals the latest change": {config: sacn.MergerConfig{Latest: true}, steps: []mergeStep{
		{at: 0, from: 1, edit: slots(10, 200, 0), shows: []byte{10, 200, 0}, sources: 1, prio: 100},
		{at: 1, from: 2, edit: slots(4, 0, 0), shows: []byte{4, 200, 0}, sources: 2, prio: 100},
		{at: 2, from: 1, edit: slots(10, 200, 0), shows: []byte{4, 200, 0}, sources: 2, prio: 100},
		{at: 3, from: 1, edit: slots(3, 200, 0), shows: []byte{3, 200, 0}, sources: 2, prio: 100},
		{at: 4, from: 2, edit: slots(4, 1, 0), shows: []byte{3, 1, 0}, sources: 2, prio: 100},
		{at: 2503, from: 2, edit: slots(4, 1, 0), shows: []byte{3, 1, 0}, sources: 2, prio: 100},
		{at: 2504, shows: []byte{4, 1, 0}, sources: 1, prio: 100},
	}},
	"6.2.4, latest change: sources that one sync packet lets act are equal, in either order": {config: sacn.MergerConfig{Latest: true}, steps: []mergeStep{
		{at: 0, from: 9, sync: 8},
		{at: 1, from: 1, edit: synced(8, 0, 0, 1, 255), verdict: sacn.Held, sources: 0},
		{at: 2, from: 2, edit: synced(8, 0, 255, 255), verdict: sacn.Held, sources: 0},
		{at: 3, from: 9, sync: 8, shows: []byte{255, 255, 255}, sources: 2, prio: 100},
		{at: 4, from: 2, edit: synced(8, 0, 7, 8), verdict: sacn.Held, shows: []byte{255, 255, 255}, sources: 2, prio: 100},
		{at: 5, from: 1, edit: synced(8, 0, 9, 2, 3), verdict: sacn.Held, shows: []byte{255, 255, 255}, sources: 2, prio: 100},
		{at: 6, from: 9, sync: 8, shows: []byte{9, 8, 3}, sources: 2, prio: 100},
	}},
	"6.7.1: loss after 2.5 s, by source; levels are held": {steps: []mergeStep{
		{at: 0, from: 1, edit: at(150, 1), shows: []byte{1}, sources: 1, prio: 150},
		{at: 1000, from: 2, edit: at(100, 2), shows: []byte{1}, sources: 1, prio: 150},
		{at: 2500, shows: []byte{1}, sources: 1, prio: 150},
		{at: 2501, shows: []byte{2}, sources: 1, prio: 100},
		{at: 3500, shows: []byte{2}, sources: 1, prio: 100},
		{at: 3501, shows: []byte{2}, sources: 0},
		{at: 9000, from: 1, edit: at(1, 9), shows: []byte{9}, sources: 1, prio: 1},
	}},
	"6.7.1: equals are lost one after the other; the levels of the last are held": {steps: []mergeStep{
		{at: 0, from: 1, edit: slots(1, 9), shows: []byte{1, 9}, sources: 1, prio: 100},
		{at: 901, from: 2, edit: slots(0, 5), shows: []byte{1, 9}, sources: 2, prio: 100},
		{at: 2501, shows: []byte{0, 5}, sources: 1, prio: 100},
		{at: 4101, shows: []byte{0, 5}, sources: 0},
	}},
	"6.7.1: a synchronized source outlives one of higher priority, and is lost while levels wait": {steps: []mergeStep{
		{at: 0, from: 2, edit: at(100, 0), shows: []byte{0}, sources: 1, prio: 100},
		{at: 0, from: 9, sync: 7},
		{at: 1, from: 1, edit: at(0, 1), shows: []byte{0}, sources: 1, prio: 100},
		{at: 901, from: 1, edit: func(p *sacn.DataPacket) { p.Priority, p.SyncAddress, p.Slots = 0, 7, []byte{6} }, verdict: sacn.Held, shows: []byte{0}, sources: 1, prio: 100},
		{at: 2501, shows: []byte{1}, sources: 1},
		{at: 4101, from: 9, sync: 7, shows: []byte{1}, sources: 0}, // held too long: the source was lost before
	}},
	"6.7.1: levels are released": {config: sacn.MergerConfig{Release: true}, steps: []mergeStep{
		{at: 0, from: 1, edit: at(150, 1, 2), shows: []byte{1, 2}, sources: 1, prio: 150},
		{at: 2501, shows: []byte{0, 0}, sources: 0},
	}},
	"6.2.6: Stream_Terminated acts at once, and its slots are ignored": {steps: []mergeStep{
		{at: 0, from: 1, edit: at(150, 1), shows: []byte{1}, sources: 1, prio: 150},
		{at: 1, from: 2, edit: at(100, 2), shows: []byte{1}, sources: 1, prio: 150},
		{at: 2, from: 1, edit: optionsOf(sacn.StreamTerminated, 77), verdict: sacn.Ended, shows: []byte{2}, sources: 1, prio: 100},
		{at: 3, from: 1, edit: optionsOf(sacn.StreamTerminated, 77), verdict: sacn.Ended, shows: []byte{2}, sources: 1, prio: 100},
		{at: 4, from: 2, edit: optionsOf(sacn.StreamTerminated, 77), verdict: sacn.Ended, shows: []byte{2}, sources: 0},
		{at: 5, from: 3, edit: optionsOf(sacn.StreamTerminated, 77), verdict: sacn.TooMany, shows: []byte{2}, sources: 0},
		{at: 6, from: 1, edit: at(150, 4), shows: []byte{4}, sources: 1, prio: 150},
	}},
	"6.2.6: Preview_Data is not used": {steps: []mergeStep{
		{at: 0, from: 1, edit: optionsOf(sacn.PreviewData, 9), verdict: sacn.PreviewOnly, shows: []byte{0}, sources: 0},
		{at: 1, from: 2, edit: slots(2), shows: []byte{2}, sources: 1, prio: 100},
		{at: 1000, from: 2, edit: optionsOf(sacn.PreviewData, 9), verdict: sacn.PreviewOnly, shows: []byte{2}, sources: 1, prio: 100},
		{at: 2502, from: 2, edit: optionsOf(sacn.PreviewData, 9), verdict: sacn.PreviewOnly, shows: []byte{2}, sources: 0},
	}},
	"E1.11: START codes other than 0 carry no levels": {steps: []mergeStep{
		{at: 0, from: 1, edit: func(p *sacn.DataPacket) { p.StartCode = 0xDD }, verdict: sacn.NotLevels, shows: []byte{0}, sources: 0},
		{at: 1, from: 1, edit: slots(3), shows: []byte{3}, sources: 1, prio: 100},
		{at: 2, from: 1, edit: func(p *sacn.DataPacket) { p.StartCode = 0x17 }, verdict: sacn.NotLevels, shows: []byte{3}, sources: 1, prio: 100},
	}},
	"6.7.2: sequence by source and universe": {steps: []mergeStep{
		{at: 0, from: 1, edit: numbered(250, 1), shows: []byte{1}, sources: 1, prio: 100},
		{at: 1, from: 1, edit: numbered(249, 2), verdict: sacn.Late, shows: []byte{1}, sources: 1, prio: 100},
		{at: 2, from: 1, edit: numbered(250, 2), verdict: sacn.Late, shows: []byte{1}, sources: 1, prio: 100},
		{at: 3, from: 2, edit: numbered(249, 0), shows: []byte{1}, sources: 2, prio: 100},
		{at: 4, from: 1, edit: numbered(3, 4), shows: []byte{4}, sources: 2, prio: 100},
		{at: 5, from: 1, edit: numbered(240, 5), verdict: sacn.Late, shows: []byte{4}, sources: 2, prio: 100},
		{at: 6, from: 1, edit: numbered(239, 5), shows: []byte{5}, sources: 2, prio: 100},
		{at: 7, from: 1, edit: func(p *sacn.DataPacket) { p.Sequence, p.Options = 240, sacn.StreamTerminated }, verdict: sacn.Ended, shows: []byte{0}, sources: 1, prio: 100},
		{at: 8, from: 1, edit: numbered(238, 9), verdict: sacn.Late, shows: []byte{0}, sources: 1, prio: 100},
		{at: 2508, from: 1, edit: numbered(238, 9), shows: []byte{9}, sources: 1, prio: 100}, // after data loss any number is right
	}},
	"6.2.3: sources exceeded": {config: sacn.MergerConfig{Sources: 2}, steps: []mergeStep{
		{at: 0, from: 1, edit: at(100, 1), shows: []byte{1}, sources: 1, prio: 100},
		{at: 1, from: 2, edit: at(90, 2), shows: []byte{1}, sources: 1, prio: 100},
		{at: 2, from: 3, edit: at(90, 3), verdict: sacn.TooMany, shows: []byte{1}, sources: 1, prio: 100},
		{at: 3, from: 3, edit: at(120, 3), shows: []byte{3}, sources: 1, prio: 120},
		{at: 4, from: 2, edit: at(90, 2), verdict: sacn.TooMany, shows: []byte{3}, sources: 1, prio: 120},
		{at: 5, from: 1, edit: optionsOf(sacn.StreamTerminated), verdict: sacn.Ended, shows: []byte{3}, sources: 1, prio: 120},
		{at: 6, from: 2, edit: at(120, 9), shows: []byte{9}, sources: 2, prio: 120}, // in the place of one that ended
	}},
	"6.2.4.1: levels wait for their sync packet, once one has come": {steps: []mergeStep{
		{at: 0, from: 1, edit: synced(7, 0, 1), shows: []byte{1}, sources: 1, prio: 100},
		{at: 1, from: 9, sync: 7},
		{at: 2, from: 1, edit: synced(7, 0, 2), verdict: sacn.Held, shows: []byte{1}, sources: 1, prio: 100},
		{at: 3, from: 1, edit: synced(7, 0, 3), verdict: sacn.Held, shows: []byte{1}, sources: 1, prio: 100},
		{at: 4, from: 9, sync: 8, shows: []byte{1}, sources: 1, prio: 100},
		{at: 5, from: 9, sync: 7, shows: []byte{3}, sources: 1, prio: 100},
		{at: 6, from: 1, edit: synced(7, 0, 4), verdict: sacn.Held, shows: []byte{3}, sources: 1, prio: 100},
		{at: 7, from: 1, edit: slots(5), shows: []byte{5}, sources: 1, prio: 100}, // address 0: what is held is dropped
		{at: 8, from: 9, sync: 7, shows: []byte{5}, sources: 1, prio: 100},
		{at: 9, from: 2, edit: synced(7, 0, 6), verdict: sacn.Held, shows: []byte{5}, sources: 1, prio: 100},
		{at: 10, from: 9, sync: 7, shows: []byte{6}, sources: 2, prio: 100},
	}},
	"6.2.6, 11.1.2: sync packets stop; Force_Synchronization is 0": {steps: []mergeStep{
		{at: 0, from: 9, sync: 7},
		{at: 1, from: 1, edit: synced(7, 0, 1), verdict: sacn.Held, sources: 0},
		{at: 2, from: 9, sync: 7, shows: []byte{1}, sources: 1, prio: 100},
		{at: 2400, from: 1, edit: synced(7, 0, 2), verdict: sacn.Held, shows: []byte{1}, sources: 1, prio: 100},
		{at: 4800, from: 1, edit: synced(7, 0, 3), verdict: sacn.Held, shows: []byte{1}, sources: 1, prio: 100},
		{at: 5000, from: 9, sync: 7, shows: []byte{3}, sources: 1, prio: 100},
	}},
	"6.2.6, 11.1.2: sync packets stop; Force_Synchronization is 1": {steps: []mergeStep{
		{at: 0, from: 9, sync: 7},
		{at: 1, from: 1, edit: synced(7, sacn.ForceSynchronization, 1), verdict: sacn.Held, sources: 0},
		{at: 2, from: 9, sync: 7, shows: []byte{1}, sources: 1, prio: 100},
		{at: 2400, from: 1, edit: synced(7, sacn.ForceSynchronization, 2), verdict: sacn.Held, shows: []byte{1}, sources: 1, prio: 100},
		{at: 2503, from: 1, edit: synced(7, sacn.ForceSynchronization, 3), shows: []byte{3}, sources: 1, prio: 100},
		{at: 2600, from: 9, sync: 7},
		{at: 2601, from: 1, edit: synced(7, sacn.ForceSynchronization, 4), verdict: sacn.Held, shows: []byte{3}, sources: 1, prio: 100},
	}},
}

func cidOf(source byte) (cid [16]byte) {
	return [16]byte{'s', 'o', 'u', 'r', 'c', 'e', ' ', '0' + source}
}

func TestMergerCases(t *testing.T) {
	for name, c := range mergeCases {
		t.Run(name, func(t *testing.T) {
			m := sacn.NewMerger(c.config)
			sequence := map[byte]uint8{}
			for i, s := range c.steps {
				now := s.at * clock.Millisecond
				what := fmt.Sprintf("step %d, %d ms", i, s.at)
				sequence[s.from]++
				switch {
				case s.sync != 0:
					assert.Equal(t, s.verdict, m.Add(sacn.Packet{At: now, Sync: &sacn.SyncPacket{CID: cidOf(s.from), Address: s.sync, Sequence: sequence[s.from]}}), what)
				case s.from != 0:
					p := sacn.DataAt(now, func(p *sacn.DataPacket) {
						p.CID, p.Sequence = cidOf(s.from), sequence[s.from]
						s.edit(p)
						sequence[s.from] = p.Sequence
					})
					assert.Equal(t, s.verdict, m.Add(p), what)
				default:
					m.Expire(now)
				}
				u := m.Universe(1)
				if s.shows == nil {
					continue
				}
				require.NotNil(t, u, what)
				assert.Equal(t, s.shows, u.Levels[:len(s.shows)], what)
				assert.Equal(t, s.sources, u.Sources, what)
				assert.Equal(t, s.prio, u.Priority, what)
				assert.Equal(t, u.Sources > 0, u.Status == sacn.Live, what)
			}
		})
	}
}

// Universes are apart, and those that are not merged are refused. A sync packet lets
// the levels of all universes act.
func TestMergerUniverses(t *testing.T) {
	m := sacn.NewMerger(sacn.MergerConfig{Universes: []uint16{1, 2}})
	add := func(universe uint16, n uint8, edit func(p *sacn.DataPacket)) sacn.Verdict {
		return m.Add(sacn.DataAt(0, func(p *sacn.DataPacket) { edit(p); p.Universe, p.Sequence = universe, n }))
	}
	assert.Equal(t, sacn.Accepted, add(1, 1, slots(1)))
	assert.Equal(t, sacn.Accepted, add(2, 1, at(150, 2)))
	assert.Equal(t, sacn.TooMany, add(3, 1, slots(3)))
	assert.EqualValues(t, 1, m.Refused())
	assert.Nil(t, m.Universe(3))
	assert.Equal(t, sacn.Late, add(2, 1, slots(9)))
	sync := func(n uint8) sacn.Verdict {
		return m.Add(sacn.Packet{Sync: &sacn.SyncPacket{CID: sacn.CheckCID, Address: 9, Sequence: n}})
	}
	assert.Equal(t, sacn.Accepted, sync(200), "the numbers of sync packets are apart from those of data (6.3.2)")
	assert.Equal(t, sacn.Late, sync(199))
	assert.Equal(t, sacn.Held, add(1, 2, synced(9, 0, 11)))
	assert.Equal(t, sacn.Held, add(2, 2, synced(9, 0, 12)))
	assert.EqualValues(t, 1, m.Universe(1).Levels[0])
	assert.Equal(t, sacn.Accepted, sync(201))
	assert.EqualValues(t, 11, m.Universe(1).Levels[0])
	assert.EqualValues(t, 12, m.Universe(2).Levels[0])
	assert.Equal(t, sacn.NotData, m.Add(sacn.Packet{Err: sacn.ErrShort}))
}

// The roles say who is in control and why.
func TestMergerControls(t *testing.T) {
	m := sacn.NewMerger(sacn.MergerConfig{})
	for i, p := range []uint8{100, 150, 150, 0, 120} {
		m.Add(sacn.DataAt(0, func(d *sacn.DataPacket) {
			d.CID, d.Priority = cidOf(byte(i)), p
			if p == 0 {
				d.Options = sacn.PreviewData
			}
			if p == 120 {
				d.Universe = 2
			}
		}))
	}
	var got []string
	for _, c := range m.Controls() {
		got = append(got, fmt.Sprintf("%d %s %d: %s", c.Universe, c.CID[7:8], c.Priority, c.Role))
		assert.Equal(t, "Check Source", c.Name.String())
		assert.Equal(t, sacn.Peer, c.From)
	}
	assert.Equal(t, []string{
		"1 1 150: shares control", "1 2 150: shares control", "1 0 100: overruled", "1 3 0: sends no levels", "2 4 120: in control",
	}, got)
	assert.True(t, m.Expire(3*clock.Second))
	assert.False(t, m.Expire(3*clock.Second))
	assert.Empty(t, m.Controls())
	assert.NotNil(t, m.Universe(1))
	m.Expire(61 * clock.Second)
	assert.Nil(t, m.Universe(1), "universes are kept for ever")
}

// A flood of invented sources, universes and sync packets is counted and bounded, and
// a source of higher priority still gets in.
func TestMergerFlood(t *testing.T) {
	m := sacn.NewMerger(sacn.MergerConfig{})
	for i := range 3 * 4096 {
		cid := [16]byte{byte(i), byte(i >> 8)}
		m.Add(sacn.DataAt(0, func(p *sacn.DataPacket) { p.CID, p.Universe = cid, uint16(1+i%5000) }))
		m.Add(sacn.Packet{Sync: &sacn.SyncPacket{CID: cid, Address: uint16(1 + i%3)}})
	}
	assert.Len(t, m.Controls(), 4096)
	assert.EqualValues(t, 4*4096, m.Refused())
	desk := sacn.DataAt(0, func(p *sacn.DataPacket) { p.Priority, p.Slots = 150, []byte{9} })
	assert.Equal(t, sacn.Accepted, m.Add(desk))
	assert.EqualValues(t, 9, m.Universe(1).Levels[0])
}

func TestMergerAllocs(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector allocates")
	}
	for _, latest := range []bool{false, true} {
		m := sacn.NewMerger(sacn.MergerConfig{Latest: latest})
		packets := make([]sacn.Packet, 8)
		for i := range packets {
			packets[i] = sacn.DataAt(0, func(p *sacn.DataPacket) {
				p.CID, p.Universe, p.Priority = cidOf(byte(i%4)), uint16(1+i/4), uint8(100+i%2)
				p.Slots = make([]byte, 512)
				if i == 3 {
					p.SyncAddress = 7
				}
			})
		}
		sync := sacn.Packet{Sync: &sacn.SyncPacket{CID: sacn.CheckCID, Address: 7}}
		round := func() {
			for i := range packets {
				p := packets[i]
				p.Data.Sequence++
				p.Data.Slots[i]++
				if v := m.Add(p); v != sacn.Accepted && v != sacn.Held {
					require.Fail(t, "packet refused")
				}
			}
			sync.Sync.Sequence++
			m.Add(sync)
			m.Expire(0)
		}
		round()
		assert.Zero(t, testing.AllocsPerRun(100, round), "allocations for nine packets, latest %v", latest)
	}
}

// heardPacket is what the model keeps: all that was ever heard, and each time at which
// lost sources were looked for.
type heardPacket struct {
	at   clock.Time
	data *sacn.DataPacket // a copy; nil: a sync packet, or only time passed
	sync uint16           // the address of the sync packet; 0: only time passed
}

// modelMerge works out what a universe shows from all that was heard, anew each time.
// Its sources never exceed the limit, and its packets are in sequence. The times at which
// nothing came count too: of two sources that are lost one after the other, the second is
// in control for the time between, and its levels are the ones that are held.
func modelMerge(history []heardPacket, now clock.Time, latest bool) (levels [512]byte, priority, sources int) {
	const loss = 2500 * clock.Millisecond
	type source struct {
		priority int
		levels   [512]byte
		moved    [512]int
	}
	live := map[[16]byte]*source{}
	seenSync := map[uint16]clock.Time{}
	last := map[[16]byte]heardPacket{}
	waiting := map[[16]byte]*sacn.DataPacket{}
	following := map[[16]byte]uint16{} // sources that were synchronized, and to what
	show := func(i int, p *sacn.DataPacket) {
		s := live[p.CID]
		if s == nil {
			s = &source{}
			live[p.CID] = s
		}
		s.priority = int(p.Priority)
		for n := range s.levels {
			v := byte(0)
			if n < len(p.Slots) {
				v = p.Slots[n]
			}
			if v != s.levels[n] {
				s.levels[n], s.moved[n] = v, i+1
			}
		}
	}
	shown := [512]byte{}
	settle := func() {
		priority, sources = 0, 0
		for _, s := range live {
			priority = max(priority, s.priority)
		}
		result, at := [512]byte{}, [512]int{}
		for _, s := range live {
			if s.priority != priority {
				continue
			}
			sources++
			for n := range result {
				switch {
				case !latest:
					result[n] = max(result[n], s.levels[n])
				case s.moved[n] > at[n]:
					result[n], at[n] = s.levels[n], s.moved[n]
				case s.moved[n] == at[n]: // by the same sync packet
					result[n] = max(result[n], s.levels[n])
				}
			}
		}
		if sources > 0 {
			shown = result // else the last levels stay
		}
	}
	age := func(at clock.Time) {
		for cid, h := range last {
			if at-h.at > loss {
				delete(live, cid)
				delete(last, cid)
				delete(waiting, cid)
				delete(following, cid)
			}
		}
		settle()
	}
	for i, h := range history {
		age(h.at)
		switch p := h.data; {
		case p == nil && h.sync == 0:
		case p == nil:
			seenSync[h.sync] = h.at
			for cid := range last {
				if last[cid].data.SyncAddress == h.sync && last[cid].data.Options&sacn.StreamTerminated == 0 {
					following[cid] = h.sync
				}
				if w := waiting[cid]; w != nil && w.SyncAddress == h.sync {
					show(i, w)
					delete(waiting, cid)
				}
			}
		case p.Options&sacn.StreamTerminated != 0:
			if _, known := last[p.CID]; known {
				delete(live, p.CID)
				delete(waiting, p.CID)
				delete(following, p.CID)
				delete(last, p.CID)
			}
		default:
			last[p.CID] = h
			at, seen := seenSync[p.SyncAddress]
			recent := seen && h.at-at <= loss
			if following[p.CID] != p.SyncAddress || p.SyncAddress == 0 {
				delete(following, p.CID)
				if recent && p.SyncAddress != 0 {
					following[p.CID] = p.SyncAddress
				}
			}
			if following[p.CID] != 0 && (recent || p.Options&sacn.ForceSynchronization == 0) {
				waiting[p.CID] = p
			} else {
				delete(waiting, p.CID)
				show(i, p)
			}
		}
		settle()
	}
	age(now)
	return shown, priority, sources
}

// Whatever is heard, a universe shows what the model says.
func TestMergerAgainstModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		latest := rapid.Bool().Draw(t, "latest")
		m := sacn.NewMerger(sacn.MergerConfig{Latest: latest})
		var history []heardPacket
		sequence := map[byte]uint8{}
		now := clock.Time(0)
		for i := range rapid.IntRange(1, 60).Draw(t, "steps") {
			now += clock.Time(rapid.SampledFrom([]int{0, 1, 30, 900, 1600, 2501}).Draw(t, "later")) * clock.Millisecond
			from := byte(rapid.IntRange(1, 4).Draw(t, "from"))
			sequence[from]++
			switch rapid.IntRange(0, 9).Draw(t, "what") {
			case 0, 1:
				address := uint16(rapid.IntRange(7, 8).Draw(t, "address"))
				m.Add(sacn.Packet{At: now, Sync: &sacn.SyncPacket{CID: cidOf(from), Address: address, Sequence: sequence[from]}})
				history = append(history, heardPacket{at: now, sync: address})
			case 2:
				m.Expire(now)
				history = append(history, heardPacket{at: now})
			default:
				p := sacn.DataAt(now, func(p *sacn.DataPacket) {
					p.CID, p.Sequence = cidOf(from), sequence[from]
					p.Priority = uint8(rapid.SampledFrom([]int{0, 100, 100, 150}).Draw(t, "priority"))
					p.SyncAddress = uint16(rapid.SampledFrom([]int{0, 0, 7, 8}).Draw(t, "sync"))
					p.Options = rapid.SampledFrom([]sacn.Options{0, 0, 0, sacn.ForceSynchronization, sacn.StreamTerminated}).Draw(t, "options")
					p.Slots = rapid.SliceOfN(rapid.SampledFrom([]byte{0, 1, 128, 255}), 0, 4).Draw(t, "slots")
				})
				history = append(history, heardPacket{at: now, data: p.Data})
				own := *p.Data
				own.Slots = slices.Clone(own.Slots)
				p.Data = &own
				m.Add(p)
				clear(own.Slots) // a receiver uses it again
			}
			levels, priority, sources := modelMerge(history, now, latest)
			if m.Universe(1) == nil {
				continue
			}
			m.Expire(now)
			u := m.Universe(1)
			require.Equal(t, sources, u.Sources, "step %d", i)
			require.EqualValues(t, priority, u.Priority, "step %d", i)
			require.Equal(t, levels[:6], u.Levels[:6], "step %d", i)
		}
	})
}
