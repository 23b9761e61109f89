package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const input = `goos: linux
BenchmarkLock/steady/ours-2        1   9 ns/op  0.9 p99-ms  0.1 p50-ms
BenchmarkLock/steady/last-tick-2   1   9 ns/op  9.9 p99-ms  5 p50-ms
BenchmarkLock/steady/dll-2         1   9 ns/op  4.5 p99-ms  7 x-only
BenchmarkLock/steady/ours-2        1   9 ns/op  0.7 p99-ms  0.1 p50-ms
BenchmarkLock/steady/ours-2        1   9 ns/op  0.8 p99-ms  0.1 p50-ms
BenchmarkWoken/ours-2     1   0 ns/op  0.2 p99-ms  0.1 cyclictest-p99-ms
BenchmarkWoken/free-2     1   0 ns/op  0.4 p99-ms  0.1 cyclictest-p99-ms
BenchmarkPeer-2   500  2300 ns/op  36 ns/universe  360 peer-ns/universe  0 B/op
BenchmarkSame-2   500  2300 ns/op  36 ns/u  360 peer-ns/u
BenchmarkSame-2   500  2300 ns/op  38 ns/u  362 peer-ns/u
BenchmarkWild-2   500  20 ns/op
BenchmarkWild-2   500  30 ns/op
BenchmarkPlain-2  500  23.5 ns/op  0 B/op  0 allocs/op
BenchmarkLeaky    500  23.5 ns/op  16 B/op  2 allocs/op
BenchmarkNothing
BenchmarkLog: a line of a log
ok   tactus/clock 3.1s
`

// Ours and its references are one row, of the median of the runs.
func TestTable(t *testing.T) {
	parsed, err := parse(strings.NewReader(input))
	require.NoError(t, err)
	var out strings.Builder
	parsed.write(&out)
	var have []string
	for l := range strings.Lines(out.String()) {
		have = append(have, strings.Join(strings.Fields(l), " "))
	}
	want := []string{
		"benchmark unit ours reference ours / reference trust",
		"Lock/steady p99-ms 0.8 9.9 last-tick 0.08 one run: no",
		"4.5 dll 0.18 one run: no",
		"Lock/steady p50-ms 0.1 5 last-tick 0.02 one run: no",
		"Lock/steady/dll x-only 7 one run: no",
		"Woken p99-ms 0.2 0.4 free 0.50 one run: no",
		"0.1 cyclictest 2.00 one run: no",
		"Peer ns/universe 36 360 peer 0.10 one run: no",
		"Same ns/u 37 361 peer 0.10 yes",
		"Wild ns/op 25 runs differ by 40 %: no",
		"Plain ns/op 23.5 one run: no",
		"Leaky ns/op 23.5 one run: no",
		"Leaky allocs/op 2 one run: no",
	}
	assert.Empty(t, cmp.Diff(want, have))
	_, err = parse(strings.NewReader("FAIL\n"))
	assert.ErrorIs(t, err, errNone)
}
