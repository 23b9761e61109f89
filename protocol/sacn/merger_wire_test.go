package sacn_test

import (
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/protocol/sacn"
)

// The independent npm library merges the same packets to the same levels: several
// sources, priorities that change, slots that come and go. It knows no termination, no
// preview and no synchronization, and takes priority 0 for none, so these are left out.
func TestMergerAgainstPeer(t *testing.T) {
	if !inNamespace(t) {
		return
	}
	peer := peerScript(t, "sacn-merge.mjs", "127.0.0.1")
	require.Equal(t, "ready", peer.line())
	rng := rand.New(rand.NewPCG(16, 31))
	m := sacn.NewMerger(sacn.MergerConfig{})
	var sequence [6]uint8
	shared := 0
	var want []string
	for n := range 120 {
		from := rng.IntN(5)
		sequence[from]++
		p := sacn.DataAt(clock.Time(n)*clock.Millisecond, func(p *sacn.DataPacket) {
			p.CID, p.Sequence = cidOf(byte(from)), sequence[from]
			p.Priority = uint8(100 + rng.IntN(3)/2)
			p.Slots = make([]byte, 1+rng.IntN(512))
			for i := range p.Slots {
				p.Slots[i] = byte(rng.Uint32())
			}
		})
		require.Equal(t, sacn.Accepted, m.Add(p))
		_, err := fmt.Fprintf(peer.in, "%x\n", p.Data.AppendTo(nil))
		require.NoError(t, err)
		u := m.Universe(1)
		want = append(want, hex.EncodeToString(u.Levels[:]))
		if u.Sources > 1 {
			shared++
		}
	}
	for n := range want {
		require.Equal(t, want[n], peer.line(), "packet %d", n)
	}
	assert.Greater(t, shared, 30, "packets after which several sources share control")
	t.Logf("%d packets of 5 sources, %d times shared", len(want), shared)
}
