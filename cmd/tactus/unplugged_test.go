//go:build unix

package main

import (
	"fmt"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plugStage gives a namespace an interface stage0 with an address, and a cable from it to
// stage1.
func plugStage(t *testing.T, ns string) {
	t.Helper()
	command(t, "ip", "-n", ns, "link", "add", "stage0", "type", "veth", "peer", "name", "stage1")
	command(t, "ip", "-n", ns, "address", "add", "10.77.0.1/24", "dev", "stage0")
	command(t, "ip", "-n", ns, "link", "set", "stage1", "up")
	command(t, "ip", "-n", ns, "link", "set", "stage0", "up")
}

// An interface that is pulled out and comes back in the middle of a run is
// trouble that is told, twice, and nothing else: the run goes on.
func TestPulledInterfaceComesBack(t *testing.T) {
	needTools(t, true, "ip")
	ns := namespace(t)
	plugStage(t, ns)
	run := start(t, "MIDI in", "ip", "netns", "exec", ns, binary(t), "run", "../../testdata/shows/daw", "--midi", "plan",
		"--protocol", "sacn", "--interface", "stage0", "--rise", "0s", "--state", t.TempDir(), "--log", "json", "--health", "1s")
	expect(t, run, `"send_errors":0`)
	command(t, "ip", "-n", ns, "link", "delete", "stage0")
	expect(t, run, "output failing")
	plugStage(t, ns)
	expect(t, run, "output works again")
	run.stop(t, syscall.SIGTERM)
}

// A cable that is pulled while the interface stays up fails no send: the system takes
// the packets and drops them. It is told within a second in the log, by /healthz and
// /metrics, once; and so is its return.
func TestPulledCableIsTold(t *testing.T) {
	needTools(t, true, "ip", "curl")
	for _, protocol := range []string{"sacn", "art-net"} {
		t.Run(protocol, func(t *testing.T) { pullCable(t, protocol) })
	}
}

func pullCable(t *testing.T, protocol string) {
	ns := namespace(t)
	plugStage(t, ns)
	run := start(t, "MIDI in", "ip", "netns", "exec", ns, binary(t), "run", "../../testdata/shows/daw", "--midi", "plan",
		"--protocol", protocol, "--interface", "stage0", "--rise", "0s", "--state", t.TempDir(), "--log", "json", "--panel-at", "127.0.0.1:8321")
	get := func(path string) string {
		out, _ := exec.Command("ip", "netns", "exec", ns, "curl", "-s", "-w", "%{http_code}", "http://127.0.0.1:8321"+path).Output()
		return string(out)
	}
	eventually := func(what string, holds func() bool) {
		began := time.Now()
		require.Eventually(t, holds, time.Second, 20*time.Millisecond, "%s: %s\n%s", protocol, what, run.out)
		t.Logf("%s: %s after %v", protocol, what, time.Since(began).Round(10*time.Millisecond))
	}
	says := func(words string) func() bool {
		return func() bool { return strings.Contains(run.out.String(), words) }
	}
	require.Eventually(t, func() bool { return strings.HasSuffix(get("/healthz"), "200") }, 10*time.Second, 50*time.Millisecond)
	command(t, "ip", "-n", ns, "link", "set", "stage1", "down")
	eventually("the log says that the cable is unplugged", says("has no carrier"))
	eventually("/healthz says so", func() bool {
		h := get("/healthz")
		return strings.HasSuffix(h, "503") && strings.Contains(h, "has no carrier")
	})
	assert.Contains(t, get("/metrics"), "\ntactus_network_links_down 1\n")
	assert.Contains(t, get("/metrics"), "\ntactus_output_failing 1\n")
	command(t, "ip", "-n", ns, "link", "set", "stage1", "up")
	eventually("the log says that it is back", says("output works again"))
	eventually("/healthz says so", func() bool { return strings.HasSuffix(get("/healthz"), "200") })
	assert.Contains(t, get("/metrics"), "\ntactus_network_links_down 0\n")
	run.stop(t, syscall.SIGTERM)
	for _, words := range []string{"output failing", "output works again"} {
		assert.Equal(t, 1, strings.Count(run.out.String(), words), fmt.Sprintf("%s: %q in\n%s", protocol, words, run.out))
	}
}
