package midi

import (
	"encoding/csv"
	"encoding/hex"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// ReferenceDir holds worked packets and tables, each with its source.
const ReferenceDir = "../../testdata/reference/"

// ReadCSV reads a table of ReferenceDir, without its head.
func ReadCSV(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(ReferenceDir + name)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// Unhex reads hex with spaces, line ends and # comment lines.
func Unhex(t testing.TB, s string) []byte {
	t.Helper()
	var b strings.Builder
	for line := range strings.Lines(s) {
		if !strings.HasPrefix(line, "#") {
			b.WriteString(strings.Join(strings.Fields(line), ""))
		}
	}
	out, err := hex.DecodeString(b.String())
	require.NoError(t, err)
	return out
}

// ReadHex reads octets of ReferenceDir.
func ReadHex(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(ReferenceDir + name)
	require.NoError(t, err)
	return Unhex(t, string(b))
}
