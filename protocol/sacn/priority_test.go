package sacn_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// Priorities are 0 to 200 (ANSI E1.31-2018, 6.2.3); a change is sent at once, numbers
// go on.
func TestSetPriority(t *testing.T) {
	var us []sacn.UniverseConfig
	for i, p := range []uint8{100, 200, 1} {
		us = append(us, sacn.UniverseConfig{Number: uint16(i + 1), Priority: p, OnChange: i == 0})
	}
	r := newRig(t, sacn.SenderConfig{Universes: us})
	r.run(grid(44, 0, clock.Second/2))
	now := clock.Second / 2
	for _, by := range []int{1, 0, -1} {
		r.SetPriority(by, true)
		require.NoError(t, r.frame(now))
		now += clock.Second / 44
	}
	for u, want := range [][]uint8{{101, 100, 99}, {200, 200, 199}, {2, 1, 0}} {
		list := r.rec.takeSent(sacn.Data, uint16(u+1))
		checkSequence(t, list)
		var got []uint8
		for _, p := range list[len(list)-3:] {
			got = append(got, p.data.Priority)
		}
		assert.Equal(t, want, got, "universe %d", u+1)
	}
}

// Below the lowest priority a universe is not sent: its stream ends by three packets
// (6.2.6), and goes on as an ordinary one.
func TestPriorityBelowTheLowest(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Sync: 9, OnExit: sacn.Terminate, Universes: []sacn.UniverseConfig{{Number: 1, Priority: 0}, {Number: 2, Priority: 5}}})
	r.run(grid(44, 0, clock.Second))
	r.SetPriority(-1, true)
	r.run(grid(44, clock.Second, 2*clock.Second))
	list := r.rec.takeSent(sacn.Data, 1)
	require.Len(t, list, 44+3)
	checkSequence(t, list)
	for _, p := range list[44:] {
		assert.Equal(t, sacn.StreamTerminated, p.data.Options)
	}
	assert.Greater(t, len(r.rec.takeSent(sacn.Data, 2)), 80, "the other universe goes on")

	r.SetPriority(0, true)
	r.run(grid(44, 2*clock.Second, 3*clock.Second))
	list = r.rec.takeSent(sacn.Data, 1)[47:]
	require.NotEmpty(t, list)
	for _, p := range list {
		assert.Equal(t, sacn.ForceSynchronization, p.data.Options)
		assert.EqualValues(t, 9, p.data.SyncAddress)
		assert.Zero(t, p.data.Priority)
	}

	r.SetPriority(-1, true)
	require.NoError(t, r.Send(3*clock.Second, r.levels, nil))
	require.NoError(t, r.Close())
	ends := 0
	for _, p := range r.rec.takeSent(sacn.Data, 1) {
		if p.data.Options == sacn.StreamTerminated {
			ends++
		}
	}
	assert.Equal(t, 4, ends, "the three before, and the first of the second ending; after it nothing is left to end")
}

// A universe that was never sent below the lowest priority has nothing to end.
func TestPausedFromTheStart(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{OnExit: sacn.Terminate, Universes: []sacn.UniverseConfig{{Number: 1, Priority: 0}}})
	r.SetPriority(-1, false)
	r.run(grid(44, 0, clock.Second))
	require.NoError(t, r.Close())
	assert.Empty(t, r.rec.takeSent(sacn.Data, 1))
}

func TestWithoutSync(t *testing.T) {
	r := newRig(t, sacn.SenderConfig{Sync: 9, Universes: universe(1, nil)})
	r.SetPriority(-1, false)
	r.run(grid(44, 0, clock.Second))
	assert.Empty(t, r.rec.takeSent(sacn.Sync, 0))
	r.SetPriority(1, true)
	r.run(grid(44, clock.Second, 2*clock.Second))
	assert.NotEmpty(t, r.rec.takeSent(sacn.Sync, 0))
}

func TestSetPriorityAllocs(t *testing.T) {
	c := sacn.SenderConfig{CID: sacn.CheckCID, Universes: universe(1, nil), Open: func() (udp.Conn, error) { return &sink{}, nil }}
	s, err := sacn.NewSender(c)
	require.NoError(t, err)
	levels, now, by := make([]dmx.Universe, 1), clock.Time(0), 0
	frame := func() {
		now += clock.Second / 44
		by = 1 - by
		s.SetPriority(by, true)
		if err := s.Send(now, levels, nil); err != nil {
			require.NoError(t, err)
		}
	}
	frame()
	assert.Zero(t, testing.AllocsPerRun(100, frame))
}
