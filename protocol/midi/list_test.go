package midi

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
)

func TestListRaw(t *testing.T) {
	root := fstest.MapFS{
		"dev/snd/midiC1D0":        {},
		"dev/snd/midiC2D0":        {},
		"dev/snd/midiC3D1":        {},
		"dev/snd/controlC1":       {},
		"proc/asound/card1/midi0": {Data: []byte("Stage Keys\n\nOutput 0\n  Tx bytes     : 0\n")},
		"proc/asound/card1/id":    {Data: []byte("Keys\n")},
		"proc/asound/card2/id":    {Data: []byte("Pads\x1b\n")},
	}
	want := []Info{
		{Spec: "/dev/snd/midiC1D0", Name: "Stage Keys", Raw: true},
		{Spec: "/dev/snd/midiC2D0", Name: "Pads·", Raw: true},
		{Spec: "/dev/snd/midiC3D1", Raw: true},
	}
	assert.Equal(t, want, listRaw(root))
	assert.Empty(t, listRaw(fstest.MapFS{}), "a system without sound")
	if !haveDriver {
		_, err := List(t.Context(), Options{})
		assert.ErrorIs(t, err, ErrNoDriver)
	}
}
