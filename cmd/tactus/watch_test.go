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
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/watch"
)

func needPeers(t testing.TB) {
	t.Helper()
	needTools(t, true, "ip", "node")
	if _, err := os.Stat(filepath.Join(peerFolder, "node_modules")); err != nil {
		require.NotEqual(t, "true", os.Getenv("CI"), "the npm peers are not installed")
		t.Skip("the npm peers are not installed: npm ci in testdata/wire, or make test")
	}
}

// peer starts one of the npm senders in a namespace; it ends with the test.
func peer(t *testing.T, ns, script string, args ...string) io.Writer {
	t.Helper()
	cmd := exec.Command("ip", append([]string{"netns", "exec", ns, "node", script}, args...)...)
	cmd.Dir = peerFolder
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { in.Close(); _ = cmd.Wait() })
	return in
}

// What independent senders send is what watch prints: sACN by multicast,
// Art-Net by unicast from two libraries, 512 slots each.
func TestWatchDecodesIndependentSenders(t *testing.T) {
	needPeers(t)
	ns := namespace(t)
	command(t, "ip", "-n", ns, "link", "set", "lo", "multicast", "on")
	command(t, "ip", "-n", ns, "route", "add", "239.0.0.0/8", "dev", "lo")

	watching := exec.Command("ip", "netns", "exec", ns, binary(t), "watch", "--interface", "lo", "--universes", "7", "--json", "--every", "200ms")
	out, err := watching.StdoutPipe()
	require.NoError(t, err)
	watching.Stderr = os.Stderr
	require.NoError(t, watching.Start())
	t.Cleanup(func() { _ = watching.Process.Kill(); _ = watching.Wait() })

	in := peer(t, ns, "sacn-send.mjs", "127.0.0.1", "7", "3")
	peer(t, ns, "artnet-dmxnet-send.mjs", "127.0.0.1", "6454", "1", "2", "3", "7000")
	peer(t, ns, "artnet-npm-send.mjs", "127.0.0.1", "6454", "9")
	stop := make(chan struct{})
	defer close(stop)
	go func() { // one line, one packet
		tick := time.NewTicker(50 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-stop:
				return
			case <-tick.C:
				fmt.Fprintln(in)
			}
		}
	}()

	want := map[string]func(slots []int) bool{
		"sacn 7": func(s []int) bool { // consecutive multiples of 3, whatever the line
			return len(s) == 512 && (s[1]-s[0]+256)%256 == 3 && (s[511]-s[0]+256*6)%256 == 511*3%256
		},
		fmt.Sprintf("art-net %d", 1<<8|2<<4|3): func(s []int) bool { return len(s) == 512 && s[0] == 7 && s[511] == 512*7%256 },
		"art-net 9":                            func(s []int) bool { return len(s) == 512 && s[0] == 7 && s[511] == 512*7%256 },
	}
	lines := make(chan string)
	go func() {
		defer close(lines)
		s := bufio.NewScanner(out)
		s.Buffer(nil, 1<<20)
		for s.Scan() {
			lines <- s.Text()
		}
	}()
	deadline := time.After(20 * time.Second)
	for len(want) > 0 {
		select {
		case <-deadline:
			require.Fail(t, "not seen in 20 s", want)
		case line, ok := <-lines:
			require.True(t, ok, "watch has ended")
			var a watch.Arrival
			require.NoError(t, json.Unmarshal([]byte(line), &a), "in %s", line)
			name := fmt.Sprintf("%s %d", a.Protocol, a.Universe)
			if right := want[name]; right != nil && right(a.Slots) {
				delete(want, name)
				if a.Protocol == senders.SACN {
					assert.Equal(t, "npm peer", a.Source)
					assert.Equal(t, 120, a.Priority)
				}
			}
		}
	}
}

// Without a network, the way to watch this computer itself is told; and it is one: by it
// and without a network, what a show sends to this computer arrives.
func TestWatchWithoutNetwork(t *testing.T) {
	needTools(t, true, "ip")
	ns := namespace(t)
	for _, args := range [][]string{{}, {"demo"}, {"--protocol", "sacn"}, {"--universes", "3"}} {
		out, err := exec.Command("ip", append([]string{"netns", "exec", ns, binary(t), "watch", "--for", "1s"}, args...)...).CombinedOutput()
		require.Error(t, err, "%s: %s", args, out)
		assert.Contains(t, string(out), "no network interface can multicast; there are: lo (127.0.0.1)", args)
		assert.Contains(t, string(out), "This computer is in no network: '--interface lo' watches what it sends to itself", args)
	}
	out := command(t, "ip", "netns", "exec", ns, binary(t), "watch", "--protocol", "art-net", "--for", "300ms")
	assert.Contains(t, out, "nothing arrives yet", "Art-Net needs no interface")

	run := start(t, "MIDI in", "ip", "netns", "exec", ns, binary(t), "run", "demo", "--midi", "plan", "--rise", "0s", "--state", t.TempDir())
	out = command(t, "ip", "netns", "exec", ns, binary(t), "watch", "demo", "--interface", "lo", "--for", "1500ms")
	run.stop(t, os.Interrupt)
	assert.Contains(t, out, "sacn universe 1 from 127.0.0.1")

	command(t, "ip", "-n", ns, "link", "set", "lo", "down")
	down, err := exec.Command("ip", "netns", "exec", ns, binary(t), "watch", "--for", "1s").CombinedOutput()
	require.Error(t, err, "%s", down)
	assert.NotContains(t, string(down), "--interface lo", "an interface that is down")
	assert.Contains(t, string(down), "lo (127.0.0.1, down)")
}

// With a show, levels are printed by fixture name.
func TestWatchNamesFixtures(t *testing.T) {
	needTools(t, true, "ip")
	ns := namespace(t)
	run := start(t, "MIDI in", "ip", "netns", "exec", ns, binary(t), "run", "../../testdata/shows/daw",
		"--midi", "plan", "--rise", "0s", "--state", t.TempDir())
	out := command(t, "ip", "netns", "exec", ns, binary(t), "watch", "../../testdata/shows/daw",
		"--interface", "lo", "--for", "2500ms", "--every", "2s")
	run.stop(t, os.Interrupt)
	for _, want := range []string{"sacn universe 1 from 127.0.0.1 \"Wire test\", priority 100: live", "marker", "intensity", "art-net universe 4 (0.0.4) from"} {
		assert.Contains(t, out, want, "watch does not print")
	}
}
