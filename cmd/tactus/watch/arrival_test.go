package watch

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"

	"tactus/cmd/tactus/senders"
	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
	"tactus/shows"
)

// A rate is printed once there is one, not as 0.0 Hz beside packets that came.
func TestWatchRate(t *testing.T) {
	var w watcher
	a := Arrival{Protocol: senders.SACN, Universe: 1, From: "10.0.0.2", Source: "Hall", Priority: 100, Status: "live", Packets: 44}
	first := w.text([]Arrival{a})
	assert.Equal(t, "sacn universe 1 from 10.0.0.2 \"Hall\", priority 100: live, 44 packets\n", first)
	a.Rate = 43.96
	assert.Contains(t, w.text([]Arrival{a}), ": live, 44.0 Hz, 44 packets")
}

// The name of a source comes from the network: no control character of it, C0 or
// C1 (ISO 6429), reaches the terminal or a reader of the JSON.
func TestWatchNamesAreSafe(t *testing.T) {
	for _, json := range []bool{false, true} {
		w := newWatcher(&Options{JSON: json, Every: time.Hour})
		w.sacn.Add(sacn.Packet{Data: &sacn.DataPacket{Universe: 1, SourceName: sacn.NewSourceName("Höll\x1b[2J\u0085\u009b31m")}})
		out := printed(t, w)
		assert.Contains(t, out, "Höll\uFFFD[2J\uFFFD\uFFFD31m", "JSON %v", json)
		for _, r := range strings.ReplaceAll(out, "\n", "") {
			assert.False(t, unicode.IsControl(r), "JSON %v: %U in %q", json, r, out)
		}
	}
}

// A table of sources that is full is told of, and what came in spite of it.
func TestWatchTellsOverflow(t *testing.T) {
	for _, json := range []bool{false, true} {
		w := newWatcher(&Options{JSON: json, Every: time.Hour})
		assert.NotContains(t, printed(t, w), "packets")
		for i := range 5000 {
			cid := [16]byte{byte(i), byte(i >> 8)}
			w.sacn.Add(sacn.Packet{Data: &sacn.DataPacket{Universe: 1, CID: cid}})
			w.artnet.Add(artnet.Packet{Op: artnet.OpDmx, Dmx: artnet.Dmx{PortAddress: uint16(i)}})
		}
		w.artnet.Add(artnet.Packet{Op: artnet.OpDmx, Dmx: artnet.Dmx{PortAddress: 5000}})
		want := []string{"sacn: too many sources: 904 packets of others are not shown", "art-net: too many sources: 905 packets of others are not shown"}
		if json {
			want = []string{`{"protocol":"sacn","packets_left_out":904}`, `{"protocol":"art-net","packets_left_out":905}`}
		}
		lines := strings.Split(strings.TrimSpace(printed(t, w)), "\n")
		assert.Equal(t, want, lines[len(lines)-2:])
	}
}

// printed returns what is printed once.
func printed(t *testing.T, w *watcher) string {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out bytes.Buffer
	w.print(ctx, &out)
	return out.String()
}

func TestJoins(t *testing.T) {
	got, err := Joins("1,5-7", nil)
	assert.NoError(t, err, "1,5-7 joins")
	assert.Equal(t, []uint16{1, 5, 6, 7}, got, "1,5-7 joins")
	show := &shows.Show{Outputs: shows.Outputs{Universes: []shows.Universe{
		{Name: "stage", Protocol: shows.SACN, Number: 7}, {Name: "foyer", Protocol: shows.ArtNet, Number: 3}, {Name: "paper", Protocol: shows.Virtual},
	}}}
	got, _ = Joins("", show)
	assert.Equal(t, []uint16{7}, got, "a show's universes")
	for _, bad := range []string{"0", "64000", "5-3", "a", "1,,2", "-"} {
		list, err := Joins(bad, nil)
		assert.Error(t, err, "--universes %q joins %v", bad, list)
	}
}
