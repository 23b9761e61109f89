package midi

import (
	"encoding/csv"
	"encoding/hex"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

const reference = "../../testdata/reference/"

// TestMain lets the test binary stand in for the program as a child.
func TestMain(m *testing.M) {
	if len(os.Args) > 1 {
		if mode, ok := strings.CutPrefix(os.Args[1], childMode); ok {
			os.Exit(actChild(mode, os.Args[2:]))
		}
	}
	goleak.VerifyTestMain(m)
}

func readCSV(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(reference + name)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// unhex reads hex with spaces, line ends and # comment lines.
func unhex(t testing.TB, s string) []byte {
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

func readHex(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(reference + name)
	require.NoError(t, err)
	return unhex(t, string(b))
}
