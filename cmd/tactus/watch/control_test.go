package watch

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/protocol/sacn"
)

// Watch says which source is in control of each universe, and why.
func TestWatchTellsControl(t *testing.T) {
	for _, asJSON := range []bool{false, true} {
		w := newWatcher(&Options{JSON: asJSON, Every: time.Hour})
		for _, s := range []struct {
			name     string
			universe uint16
			priority uint8
			options  sacn.Options
		}{
			{"Harbour Hall", 1, 100, 0},
			{"Hall desk", 1, 150, 0},
			{"Front", 2, 90, 0},
			{"Rear", 2, 90, 0},
			{"Alone", 3, 0, 0},
			{"Preview", 4, 100, sacn.PreviewData},
		} {
			p := sacn.Packet{At: w.base.Now(), Data: &sacn.DataPacket{
				Universe: s.universe, SourceName: sacn.NewSourceName(s.name), Priority: s.priority, Options: s.options, Slots: []byte{1},
			}}
			copy(p.Data.CID[:], s.name)
			w.sacn.Add(p)
			w.merger.Add(p)
		}
		want := map[string][2]string{
			"Harbour Hall": {"overruled", `"Hall desk" has priority 150`},
			"Hall desk":    {"in control", "priority 150 is the highest of 2 sources"},
			"Front":        {"shares control", "2 sources have priority 90; the highest level of each slot counts"},
			"Rear":         {"shares control", "2 sources have priority 90; the highest level of each slot counts"},
			"Alone":        {"in control", "the only source"},
			"Preview":      {"sends no levels", ""},
		}
		seen := 0
		for line := range strings.Lines(printed(t, w)) {
			if asJSON {
				var a Arrival
				require.NoError(t, json.Unmarshal([]byte(line), &a))
				assert.Equal(t, want[a.Source], [2]string{a.Control, a.Why}, a.Source)
				seen++
				continue
			}
			for name, c := range want {
				if !strings.Contains(line, `"`+name+`", priority`) {
					continue
				}
				tail := "; " + c[0] + "\n"
				if c[1] != "" {
					tail = "; " + c[0] + " (" + c[1] + ")\n"
				}
				assert.True(t, strings.HasSuffix(line, tail), line)
				seen++
			}
		}
		assert.Equal(t, len(want), seen)
	}
}
