//go:build unix

package main

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"tactus/shows/showtest"
)

// onLoopback is a receiver on loopback for slot 1 of universe 1.
type onLoopback struct {
	t    *testing.T
	conn *net.UDPConn
	last []byte // sequence and level
}

func hear(t *testing.T) *onLoopback {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	return &onLoopback{t: t, conn: conn}
}

// next returns the level of the next packet, read at the offsets of E1.31-2018
// Table 4-1: universe 113, sequence 111, slot 1 at 126. None may be missing.
func (l *onLoopback) next() byte {
	l.t.Helper()
	var b [1024]byte
	_ = l.conn.SetReadDeadline(time.Now().Add(10 * time.Second))
	for {
		n, err := l.conn.Read(b[:])
		require.NoError(l.t, err)
		if n < 127 || b[21] != 4 || b[113] != 0 || b[114] != 1 {
			continue
		}
		if now := []byte{b[111], b[126]}; l.last == nil || now[0] == l.last[0]+1 {
			l.last = now
			return now[1]
		}
		require.Fail(l.t, fmt.Sprintf("sequence %d after %d", b[111], l.last[0]))
	}
}

// until reads packets until a level comes; on the way it may move by no more
// than a step a frame.
func (l *onLoopback) until(level, step int) {
	l.t.Helper()
	before := -1
	for range 44 * 15 {
		now := int(l.next())
		if d := now - before; before >= 0 {
			require.LessOrEqual(l.t, d, step, "a jump from %d to %d", before, now)
			require.GreaterOrEqual(l.t, d, -step, "a jump from %d to %d", before, now)
		}
		if now == level {
			return
		}
		before = now
	}
	require.Fail(l.t, fmt.Sprintf("level %d does not come", level))
}

// wantLevel reads packets of one level.
func (l *onLoopback) wantLevel(level int, packets int) {
	l.t.Helper()
	for range packets {
		require.Equal(l.t, level, int(l.next()), "level")
	}
}

// A show is edited while it runs: the level on the wire goes to the new one
// without a jump and without a packet missing. A broken file changes nothing
// and is told with its line; mended, it is taken; a new address asks for a
// restart. Levels: E1.31 slots are shares of 255. The run's journal plays again
// with the show as it was after each edit, and as far as the edits are there.
func TestEditWhileItRuns(t *testing.T) {
	f, wire := showtest.NewFolder(t, "../../testdata/shows/daw"), hear(t)
	f.Edit("songs/first.yaml", "bars: 1,", "bars: 300,") // one level for ten minutes
	f.Edit("show.yaml", "on exit", "house lights take: 1 s\non exit")
	journal, copies := filepath.Join(t.TempDir(), "night.journal"), []string{}
	keep := func() {
		copies = append(copies, filepath.Join(t.TempDir(), "copy"))
		require.NoError(t, os.CopyFS(copies[len(copies)-1], os.DirFS(f.Dir)))
	}
	keep()
	run := start(t, `"playing"`, binary(t), "run", f.Dir, "--to", wire.conn.LocalAddr().String(), "--clock", "internal",
		"--rise", "0s", "--log", "json", "--state", t.TempDir(), "--real-time=false", "--journal", journal)
	wire.until(26, 255) // 10 %
	wire.wantLevel(26, 44)

	f.Edit("looks.yaml", "ten: {set: {markers: {intensity: 10 %}}", "ten: {set: {markers: {intensity: 60 %}}")
	wire.until(153, 40) // a jump would be 127; a busy computer may skip some frames
	expect(t, run, "taken over")
	keep()

	whole := f.Read("looks.yaml")
	f.Edit("looks.yaml", "ten: {set: {markers: {intensity: 60 %}}", "ten: {set: {markers: {intensity: 30}}")
	expect(t, run, "looks.yaml:3:", "30 has no unit")
	wire.wantLevel(153, 88)
	f.Write("looks.yaml", strings.Replace(whole, "60 %", "30 %", 1))
	wire.until(77, 40)
	wire.wantLevel(77, 44)
	keep()

	song := f.Read("songs/second.yaml")
	f.Edit("songs/second.yaml", "look: sixty", "look: sixteen")
	expect(t, run, `no look \"sixteen\"`)
	f.Edit("looks.yaml", "ten: {set: {markers: {intensity: 30 %}}", "ten: {set: {markers: {intensity: 50 %}}")
	wire.until(128, 40)
	expect(t, run, "except for songs with faults")
	keep() // with the song's fault: the replay needs the song of the copy before
	f.Write("songs/second.yaml", song)
	expect(t, run, "are as they play")

	f.Edit("rig.yaml", "universe: bench, address: 1}", "universe: bench, address: 8}")
	expect(t, run, `fixture \"marker\" has another address`)
	wire.wantLevel(128, 44)
	run.stop(t, syscall.SIGTERM)
	assert.Equal(t, 4, strings.Count(run.out.String(), "taken over"), "log:\n%s", run.out) // three times, and in the words of the restart

	last := uint64(0)
	for n := 1; n <= len(copies); n++ {
		said := command(t, append([]string{binary(t), "replay", journal}, copies[:n]...)...)
		frames := uint64(0)
		_, err := fmt.Sscanf(said, "%d frames", &frames)
		assert.NoError(t, err, "with %d of the shows", n)
		assert.Contains(t, said, "every one as it was played", "with %d of the shows", n)
		assert.Greater(t, frames, last, "with %d of the shows", n)
		last = frames
	}
	out, err := exec.Command(binary(t), append([]string{"replay", journal}, copies...)...).CombinedOutput()
	assert.NoError(t, err)
	assert.Contains(t, string(out), copies[3]+": songs with faults are replayed as they were in the show before", "the replay says nothing of the song it takes from elsewhere")
	assert.Contains(t, string(out), `no look "sixteen"`)
	for _, wrong := range [][]string{{copies[0], copies[0]}, {copies[0], "demo"}} {
		out, err := exec.Command(binary(t), append([]string{"replay", journal}, wrong...)...).CombinedOutput()
		assert.Error(t, err, "replayed with %v: %s", wrong, out)
	}
}
