package replay

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine/journal"
	"tactus/shows/showtest"
)

// Whatever a journal says, a replay with a report ends without a panic.
func FuzzReplay(f *testing.F) {
	show := showtest.Demo(f)
	h := journal.Header{Show: showfiles.Demo, Clock: clock.Config{Internal: clock.BPM(72)}, Lead: 20 * clock.Millisecond}
	head := h.AppendTo(nil)
	for _, lines := range []string{
		"", "0.100000000 frame 0 00000000\n0.200000000 end\n",
		"0.100000000 do select-song\n0.100000000 start 0.100000000\n0.100000000 frame 0 00000000\n72057594.000000000 frame 1 00000000\n0.000000000 frame 1 0\n",
		"0.100000000 do override index 1 level NaN over -1.000000000 for 9.000000000 param 200\n0.100000000 frame 0 0\n0.200000000 again 0 delay 0.030000000\n",
		"0.100000000 tick 0.100000000\n0.100000000 tempo 0.100000000 tempo -9223372036854775808\n0.100000000 locate 0.000000000 sixteenths -1\n0.100000000 gap 18446744073709551615\n1.0",
		"0.100000000 master 1 over 72057594.000000000\n0.100000000 do command-255 index -1\n0.100000000 event-200 0.000000000\n0.200000000 frame 0 0\n0.300000000 revised\n",
	} {
		f.Add(append(bytes.Clone(head), lines...))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		read, err := journal.NewReader(bytes.NewReader(src))
		if err != nil {
			return
		}
		r, err := New(read, show, nil)
		require.NoError(t, err)
		r.Report()
		require.NoError(t, r.Run())
		r.Print(io.Discard)
		require.NotEqual(t, r.Verdict(io.Discard, io.Discard), r.differing > 0 || r.broken, r)
		require.Equal(t, r.frames, r.reports[0].frames, r)
	})
}
