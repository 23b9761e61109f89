package sacn

import (
	"bytes"
	"encoding/hex"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const referenceDir = "../../testdata/reference"

// referencePacket reads a worked packet; each file names its own source.
func referencePacket(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(referenceDir, "packets", name+".hex"))
	require.NoError(t, err)
	var digits strings.Builder
	for line := range strings.Lines(string(text)) {
		if !strings.HasPrefix(line, "#") {
			digits.WriteString(strings.Join(strings.Fields(line), ""))
		}
	}
	b, err := hex.DecodeString(digits.String())
	require.NoError(t, err, name)
	return b
}

// The CID of the worked packets is the example UUID of RFC 4122.
var (
	checkCID   = [16]byte{0xf8, 0x1d, 0x4f, 0xae, 0x7d, 0xec, 0x11, 0xd0, 0xa7, 0x65, 0x00, 0xa0, 0xc9, 0x1e, 0x6b, 0xf6}
	checkSlots = []byte{255, 128, 64, 32, 16, 8, 4, 1}
)

func checkPacket(edit func(p *DataPacket)) *DataPacket {
	p := &DataPacket{
		CID: checkCID, SourceName: NewSourceName("Check Source"), Priority: 100, Universe: 1,
		Slots: bytes.Clone(checkSlots),
	}
	edit(p)
	return p
}

// references holds every worked packet with what it says; parse, append, reuse
// and fuzz tests share it.
func references() map[string]codec {
	return map[string]codec{
		"sacn-data-512slots":   checkPacket(func(p *DataPacket) { p.Slots = append(p.Slots, make([]byte, 504)...) }),
		"sacn-data-8slots":     checkPacket(func(p *DataPacket) {}),
		"sacn-data-terminated": checkPacket(func(p *DataPacket) { p.Sequence = 1; p.Options = StreamTerminated }),
		"sacn-data-synced": checkPacket(func(p *DataPacket) {
			p.Sequence, p.SyncAddress, p.Options = 2, 7962, ForceSynchronization
		}),
		"sacn-data-preview": checkPacket(func(p *DataPacket) { p.Sequence = 3; p.Options = PreviewData }),
		"sacn-data-pap-0xdd": checkPacket(func(p *DataPacket) {
			p.Sequence, p.StartCode, p.Slots = 4, 0xDD, []byte{100, 100, 100, 100, 0, 0, 200, 1}
		}),
		"sacn-sync":            &SyncPacket{CID: checkCID, Address: 7962},
		"sacn-discovery":       &DiscoveryPacket{CID: checkCID, SourceName: NewSourceName("Check Source"), Universes: []uint16{1, 2, 7962}},
		"sacn-discovery-empty": &DiscoveryPacket{CID: checkCID, SourceName: NewSourceName("Check Source")},
	}
}

type codec interface {
	AppendTo(b []byte) []byte
	Parse(b []byte) error
}
