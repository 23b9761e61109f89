package sacn

import (
	"bytes"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A flood of garbage and of invented sources is counted and bounded.
func TestMonitorFlood(t *testing.T) {
	m, d := NewMonitor(), decoder{}
	rng := rand.New(rand.NewPCG(3, 4))
	good := ReferencePacket(t, "sacn-data-8slots")
	for i := range 3 * maxSources {
		cid := CheckCID
		cid[0], cid[1] = byte(i), byte(i>>8)
		m.Add(DataAt(0, func(p *DataPacket) { p.CID = cid }))
		b := bytes.Clone(good[:rng.IntN(len(good))])
		for j := range b {
			if rng.IntN(40) == 0 {
				b[j] = byte(rng.Uint32())
			}
		}
		p := d.decode(b)
		require.Error(t, p.Err, "for % x", b)
		require.Equal(t, NotData, m.Add(p), "for % x", b)
	}
	assert.EqualValues(t, 2*maxSources, m.Overflow())
	assert.Len(t, m.Sources(), maxSources)
}
