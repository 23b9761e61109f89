package senders

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
)

// What is kept of streams is read back, and anything else is refused.
func TestStreamsAreKept(t *testing.T) {
	b := appendStream(appendStream(appendStream(nil, sacnStream, 63999, 7), sacnStream, 0, 255), artNetStream, 32767, 255)
	s, err := ParseStreams(b)
	require.NoError(t, err)
	assert.Equal(t, Streams{map[uint16]uint8{63999: 7, 0: 255}, map[uint16]uint8{32767: 255}}, s)
	for _, bad := range []string{"s", "s12", "x123", "s123s"} {
		_, err := ParseStreams([]byte(bad))
		assert.Error(t, err, "%q", bad)
	}
	none, err := ParseStreams(nil)
	require.NoError(t, err)
	c := sacn.SenderConfig{Universes: []sacn.UniverseConfig{{Number: 1}}}
	none.continueSACN(&c)
	assert.Zero(t, c.Universes[0].Sequence, "a stream that is new begins with 0")
}

// The first packet of a continued stream is accepted after any that the run before may
// have sent last. Source: E1.31-2018 6.7.2, with the signed difference written out here.
func TestContinuedStreamsAreAccepted(t *testing.T) {
	for next := range 256 {
		s := Streams{sacn: map[uint16]uint8{1: uint8(next), 0: uint8(next)}, artnet: map[uint16]uint8{1: uint8(max(next, 1))}}
		c := sacn.SenderConfig{Universes: []sacn.UniverseConfig{{Number: 1}}}
		s.continueSACN(&c)
		require.Equal(t, c.Universes[0].Sequence, c.SyncSequence)
		a := artnet.SenderConfig{Universes: []artnet.UniverseConfig{{PortAddress: 1}}}
		s.continueArtNet(&a)
		require.NotZero(t, a.Universes[0].Sequence, "0 turns the check of the order off (Art-Net 4, ArtDmx)")
		for sent := range streamMargin { // packets after the numbers were kept
			last := uint8(next + sent - 1)
			d := int8(c.Universes[0].Sequence - last)
			require.False(t, d <= 0 && d > -20, "first %d after last %d is discarded", c.Universes[0].Sequence, last)
			lastArtNet := (max(next, 1)-1+sent+254)%255 + 1
			ahead := (int(a.Universes[0].Sequence) - lastArtNet + 255) % 255
			require.True(t, ahead > 0 && ahead < 128, "Art-Net: first %d after last %d", a.Universes[0].Sequence, lastArtNet)
		}
	}
}
