package sacn

import (
	"bytes"
	"encoding/csv"
	"encoding/hex"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// ReferenceDir holds the worked packets and tables.
const ReferenceDir = "../../testdata/reference"

// ReferencePacket reads a worked packet; each file names its own source.
func ReferencePacket(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(ReferenceDir, "packets", name+".hex"))
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
	CheckCID   = [16]byte{0xf8, 0x1d, 0x4f, 0xae, 0x7d, 0xec, 0x11, 0xd0, 0xa7, 0x65, 0x00, 0xa0, 0xc9, 0x1e, 0x6b, 0xf6}
	CheckSlots = []byte{255, 128, 64, 32, 16, 8, 4, 1}
)

// CheckPacket is the worked packet of eight slots, with changes.
func CheckPacket(edit func(p *DataPacket)) *DataPacket {
	p := &DataPacket{
		CID: CheckCID, SourceName: NewSourceName("Check Source"), Priority: 100, Universe: 1,
		Slots: bytes.Clone(CheckSlots),
	}
	edit(p)
	return p
}

// References holds every worked packet with what it says; parse, append, reuse
// and fuzz tests share it.
func References() map[string]Codec {
	return map[string]Codec{
		"sacn-data-512slots":   CheckPacket(func(p *DataPacket) { p.Slots = append(p.Slots, make([]byte, 504)...) }),
		"sacn-data-8slots":     CheckPacket(func(p *DataPacket) {}),
		"sacn-data-terminated": CheckPacket(func(p *DataPacket) { p.Sequence = 1; p.Options = StreamTerminated }),
		"sacn-data-synced": CheckPacket(func(p *DataPacket) {
			p.Sequence, p.SyncAddress, p.Options = 2, 7962, ForceSynchronization
		}),
		"sacn-data-preview": CheckPacket(func(p *DataPacket) { p.Sequence = 3; p.Options = PreviewData }),
		"sacn-data-pap-0xdd": CheckPacket(func(p *DataPacket) {
			p.Sequence, p.StartCode, p.Slots = 4, 0xDD, []byte{100, 100, 100, 100, 0, 0, 200, 1}
		}),
		"sacn-sync":            &SyncPacket{CID: CheckCID, Address: 7962},
		"sacn-discovery":       &DiscoveryPacket{CID: CheckCID, SourceName: NewSourceName("Check Source"), Universes: []uint16{1, 2, 7962}},
		"sacn-discovery-empty": &DiscoveryPacket{CID: CheckCID, SourceName: NewSourceName("Check Source")},
	}
}

// Codec is a packet of any kind.
type Codec interface {
	AppendTo(b []byte) []byte
	Parse(b []byte) error
}

// Peer is where packets of DataAt come from.
var Peer = netip.MustParseAddrPort("10.0.0.5:5568")

// DataAt is CheckPacket as a receiver heard it at a time.
func DataAt(at clock.Time, edit func(p *DataPacket)) Packet {
	return Packet{At: at, From: Peer, Data: CheckPacket(edit)}
}

// ReferenceTable reads a table of ReferenceDir, without its head.
func ReferenceTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(ReferenceDir, name))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err, name)
	require.GreaterOrEqual(t, len(rows), 2, name)
	return rows[1:]
}
