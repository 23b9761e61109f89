//go:build unix

package main

import (
	"syscall"
	"testing"
)

// An interface that is pulled out and comes back in the middle of a run is
// trouble that is told, twice, and nothing else: the run goes on.
func TestPulledInterfaceComesBack(t *testing.T) {
	needTools(t, true, "ip")
	ns := namespace(t)
	plug := func() {
		command(t, "ip", "-n", ns, "link", "add", "stage0", "type", "veth", "peer", "name", "stage1")
		command(t, "ip", "-n", ns, "address", "add", "10.77.0.1/24", "dev", "stage0")
		command(t, "ip", "-n", ns, "link", "set", "stage1", "up")
		command(t, "ip", "-n", ns, "link", "set", "stage0", "up")
	}
	plug()
	run := start(t, "MIDI in", "ip", "netns", "exec", ns, binary(t), "run", "../../testdata/shows/daw", "--midi", "plan",
		"--protocol", "sacn", "--interface", "stage0", "--rise", "0s", "--state", t.TempDir(), "--log", "json", "--health", "1s")
	expect(t, run, `"send_errors":0`)
	command(t, "ip", "-n", ns, "link", "delete", "stage0")
	expect(t, run, "output failing")
	plug()
	expect(t, run, "output works again")
	run.stop(t, syscall.SIGTERM)
}
