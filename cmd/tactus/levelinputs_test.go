//go:build unix

package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/watch"
)

// linesOf runs the program in a namespace and returns its lines, of its log or its
// output. It is ended by the signal of Ctrl-C with the test.
func linesOf(t *testing.T, ns string, ofLog bool, args ...string) <-chan string {
	t.Helper()
	cmd := exec.Command("ip", append([]string{"netns", "exec", ns, binary(t)}, args...)...)
	open := cmd.StdoutPipe
	if ofLog {
		open = cmd.StderrPipe
	} else {
		cmd.Stderr = os.Stderr
	}
	from, err := open()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := make(chan string, 10_000)
	go func() {
		defer close(lines)
		for s := newLongScanner(from); s.Scan(); {
			lines <- s.Text()
		}
	}()
	t.Cleanup(func() {
		_ = cmd.Process.Signal(os.Interrupt)
		for range lines { // until its output ends
		}
		_ = cmd.Wait()
	})
	return lines
}

func newLongScanner(r io.Reader) *bufio.Scanner {
	s := bufio.NewScanner(r)
	s.Buffer(nil, 1<<20)
	return s
}

// await returns the first line that fits, and how long it took.
func await(t *testing.T, lines <-chan string, what string, fits func(line string) bool) (string, time.Duration) {
	t.Helper()
	start, deadline := time.Now(), time.After(20*time.Second)
	for last := ""; ; {
		select {
		case line, ok := <-lines:
			require.True(t, ok, "the program has ended before %s; its last line: %s", what, last)
			if last = line; fits(line) {
				return line, time.Since(start)
			}
		case <-deadline:
			require.Fail(t, "not seen in 20 s: "+what, "last line: %s", last)
		}
	}
}

// A house desk, played by an independent library, raises a group by a fader over
// multicast; it goes, and the show's light comes back; then it takes a universe of the
// show itself with a higher priority, and the run and watch tell who is in control.
// The night's journal gives the same frames again.
func TestHouseDesk(t *testing.T) {
	needPeers(t)
	ns := namespace(t)
	command(t, "ip", "-n", ns, "link", "set", "lo", "multicast", "on")
	command(t, "ip", "-n", ns, "route", "add", "239.0.0.0/8", "dev", "lo")
	show := filepath.Join(t.TempDir(), "hall")
	require.NoError(t, os.CopyFS(show, os.DirFS("../../testdata/shows/good/plain")))
	require.NoError(t, os.WriteFile(filepath.Join(show, "rig.yaml"), []byte(`venue: Hall
sacn: {source name: Harbour Hall}
universes:
  stage: {sacn: 1}
fixtures:
  lamp 1-2: {profile: dimmer-rgb, universe: stage, address: 1}
  front: {profile: dimmer, universe: stage, address: 9}
groups:
  lamps: lamp 1-2
inputs:
  house desk: {sacn: 11, faders: {front: 3}}
`), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(show, "show.yaml"), []byte("show: Hall\nhouse lights take: 500 ms\n"), 0o644))
	assert.Contains(t, command(t, binary(t), "check", show), "Measured without what comes in from house desk (sACN 11).\n")
	journal := filepath.Join(t.TempDir(), "night.journal")

	log := linesOf(t, ns, true, "run", show, "--interface", "lo", "--log", "json", "--health", "1s", "--journal", journal, "--state", t.TempDir())
	await(t, log, "the input", func(l string) bool {
		return strings.Contains(l, "input house desk (sACN 11): nothing has come yet")
	})
	seen := linesOf(t, ns, false, "watch", "--interface", "lo", "--universes", "1,11", "--protocol", "sacn", "--json", "--every", "50ms")
	arrival := func(what string, fits func(a *watch.Arrival) bool) time.Duration {
		t.Helper()
		_, took := await(t, seen, what, func(line string) bool {
			var a watch.Arrival
			require.NoError(t, json.Unmarshal([]byte(line), &a), line)
			return fits(&a)
		})
		return took
	}
	front := func(level int) func(a *watch.Arrival) bool {
		return func(a *watch.Arrival) bool { return a.Source == "Harbour Hall" && a.Slots[8] == level }
	}
	arrival("a dark front", front(0))

	desk := peer(t, ns, "sacn-desk.mjs", "127.0.0.1", "Hall desk", "150")
	fmt.Fprintln(desk, "11 3=204")
	arrival("the fader's level", front(204))
	await(t, log, "who is in control of the input", func(l string) bool {
		return strings.Contains(l, `input house desk (sACN 11): \"Hall desk\" at 127.0.0.1 has priority 150`)
	})
	fmt.Fprintln(desk, "11 3=51")
	t.Logf("a fader that moved showed after %v (watch prints every 50 ms)", arrival("the fader's new level", front(51)))

	fmt.Fprintln(desk, "11 stop")
	took := arrival("the show's own light", front(0))
	t.Logf("the show's light was back %v after the desk's last packet (2.5 s loss, 0.5 s fade)", took)
	assert.Greater(t, took, 2400*time.Millisecond, "E1.31-2018, 6.7.1: lost after 2.5 s")
	await(t, log, "the loss", func(l string) bool {
		return strings.Contains(l, "input house desk (sACN 11): its source is gone; its last levels are released")
	})

	fmt.Fprintln(desk, "1 9=255")
	await(t, log, "another source of our universe", func(l string) bool {
		return strings.Contains(l, `universe stage (sACN 1): \"Hall desk\" at 127.0.0.1 has priority 150, ours 100: the lamps follow it`)
	})
	arrival("who is in control", func(a *watch.Arrival) bool {
		return a.Source == "Harbour Hall" && a.Control == "overruled" && a.Why == `"Hall desk" has priority 150`
	})
	fmt.Fprintln(desk, "1 stop")
	await(t, log, "the end of it", func(l string) bool {
		return strings.Contains(l, "universe stage: no other source at our priority or above any more; the lamps follow us")
	})
	t.Run("replay", func(t *testing.T) {
		// The run goes on; what it has written is a whole night so far.
		out, err := exec.Command(binary(t), "replay", journal).CombinedOutput()
		text, readErr := os.ReadFile(journal)
		require.NoError(t, readErr)
		assert.Contains(t, string(text), " levels 0 present 3=204\n")
		assert.Contains(t, string(text), " levels 0 gone\n")
		t.Logf("replay: %v\n%s", err, out)
		assert.Contains(t, string(out), "every one as it was played")
	})
}
