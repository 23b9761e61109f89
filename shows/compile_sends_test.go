package shows_test

import (
	"encoding/hex"
	"net/netip"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/engine"
)

// Messages are made ready as the standards have them: MIDI 1.0 Detailed
// Specification, tables of channel voice messages; the OSC examples are the two
// of The Open Sound Control 1.0 Specification, "OSC Message Examples".
func TestSendOctets(t *testing.T) {
	show := with(t, map[string]string{
		"looks.yaml": look3,
		"show.yaml":  "show: Plain\nsends to: {midi: Slide Desk, osc: 10.0.0.7:9000}\n",
		"songs/song.yaml": song(`
  - at: verse, bar 2
    send:
      - {midi: note 60 on 2}
      - {midi: note 60 at 64 on 16}
      - {midi: program 5 on 2}
      - {midi: control 7 to 100 on 1}
      - {osc: /oscillator/4/frequency 440.0}
      - {osc: /foo 1000 -1 hello 1.234 5.678}
      - {osc: /title 'it is 5'}
`),
	})
	p := show.Program
	for i, want := range []string{
		"913c64" + "813c40",
		"9f3c40" + "8f3c40",
		"c104",
		"b00764",
		"2f6f7363696c6c61746f722f342f6672657175656e637900" + "2c660000" + "43dc0000",
		"2f666f6f00000000" + "2c69697366660000" + "000003e8" + "ffffffff" + "68656c6c6f000000" + "3f9df3b6" + "40b5b22d",
		"2f7469746c650000" + "2c730000" + "697420697320350" + "0",
	} {
		assert.Equal(t, want, hex.EncodeToString(p.Sends[i].Bytes), p.Sends[i].Text)
	}
	m := show.Outputs.Messages
	assert.Equal(t, "Slide Desk", m.MIDI)
	assert.Equal(t, netip.MustParseAddrPort("10.0.0.7:9000"), m.OSC)
}

// A cue that only sends has the light of the cue before; a look sends with
// every cue that changes to it, unless the cue says; what is said twice is kept
// once.
func TestCuesThatSend(t *testing.T) {
	looks := look3 + "\n" // the look "off" sends
	looks = strings.Replace(looks, `"off": {`, `"off": {send: [{osc: /off}], `, 1)
	show := with(t, map[string]string{"looks.yaml": looks, "songs/song.yaml": song(`
  - {at: "verse, bar 2", send: [{osc: /a}]}
  - {at: "verse, bar 3", look: "off"}
  - {at: "verse, bar 4", look: "off", send: [{osc: /b}, {osc: /a}]}
  - {at: "verse, bar 5", effects: none}
`)})
	p := show.Program
	cues := p.Songs[0].Cues
	for i, want := range []struct {
		only  bool
		texts []string
	}{{}, {true, []string{"/a"}}, {false, []string{"/off"}}, {false, []string{"/b", "/a"}}, {}} {
		var texts []string
		for _, s := range cues[i].Sends {
			texts = append(texts, p.Sends[s].Text)
		}
		assert.Equal(t, want.only, cues[i].SendsOnly, "cue %d", i)
		assert.Equal(t, want.texts, texts, "cue %d", i)
	}
	assert.Equal(t, cues[0].Fade, cues[1].Fade)
	assert.Len(t, cues[1].Parts, len(cues[0].Parts))
	assert.Equal(t, cues[0].Effects, cues[1].Effects)
	off := slices.IndexFunc(p.Looks, func(c engine.Cue) bool { return c.Name == "off" })
	assert.Len(t, p.Looks[off].Sends, 1, "the look")
	assert.Len(t, p.Sends, 3, "the look")
}
