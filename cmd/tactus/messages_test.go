//go:build unix

package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"tactus/shows/showtest"
)

// oscPeer is an independent library in a process of its own: what it hears, and
// a way to let it send.
func oscPeer(t *testing.T) (heard <-chan string, port string, send func(to, packet string)) {
	t.Helper()
	needTools(t, false, "node")
	if _, err := os.Stat(filepath.Join(peerFolder, "node_modules", "osc-min")); err != nil {
		const how = "needs the npm library: npm ci in testdata/wire"
		require.NotEqual(t, "true", os.Getenv("CI"), how)
		t.Skip(how)
	}
	cmd := exec.Command("node", filepath.Join(peerFolder, "osc-peer.mjs"), "9")
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	cmd.Stderr = os.Stderr
	require.NoError(t, cmd.Start())
	lines := make(chan string, 100)
	go func() {
		defer close(lines)
		for s := bufio.NewScanner(out); s.Scan(); {
			lines <- s.Text()
		}
	}()
	t.Cleanup(func() {
		in.Close()
		for range lines {
		}
		_ = cmd.Wait()
	})
	return lines, nextLine(t, lines), func(to, packet string) {
		_, err := fmt.Fprintf(in, "{\"port\": %s, \"packet\": %s}\n", to, packet)
		require.NoError(t, err)
	}
}

func nextLine(t *testing.T, lines <-chan string) string {
	t.Helper()
	select {
	case line, ok := <-lines:
		require.True(t, ok, "the peer has ended")
		return line
	case <-time.After(20 * time.Second):
		require.Fail(t, "nothing came")
	}
	return ""
}

// hears waits for a packet, as JSON.
func hears(t *testing.T, lines <-chan string, want string) {
	t.Helper()
	var have, expect any
	line := nextLine(t, lines)
	require.NoError(t, errors.Join(json.Unmarshal([]byte(line), &have), json.Unmarshal([]byte(want), &expect)))
	require.Equal(t, fmt.Sprint(expect), fmt.Sprint(have), "heard %s, want %s", line, want)
}

func octets(t *testing.T, r io.Reader, want ...byte) {
	t.Helper()
	got := make([]byte, len(want))
	_, err := io.ReadFull(r, got)
	require.NoError(t, err)
	require.Equal(t, want, got)
}

// A run sends what its cues say by MIDI, read back through a FIFO, and by OSC to
// an independent library; that library then drives the show, with a pattern too,
// and what it gets wrong is told and does no harm.
func TestCuesSendAndOSCDrives(t *testing.T) {
	heard, port, send := oscPeer(t)
	dir := showtest.SlideShow(t, "../../testdata/shows/good/plain")
	fifo := filepath.Join(dir, "slides")
	if err := syscall.Mkfifo(fifo, 0o600); err != nil {
		t.Skipf("no FIFOs here: %v", err)
	}
	slides, err := os.OpenFile(fifo, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	require.NoError(t, err)
	defer slides.Close()
	require.NoError(t, slides.SetReadDeadline(time.Now().Add(30*time.Second)))
	run := start(t, "MIDI port open", binary(t), "run", dir, "--protocol", "virtual", "--clock", "internal", "--log", "json",
		"--health", "1s", "--midi-out", fifo, "--osc-to", "127.0.0.1:"+port, "--osc-listen", "0")
	at := regexp.MustCompile(`"at":"127\.0\.0\.1:(\d+)"`).FindStringSubmatch(run.out.String())
	require.NotNil(t, at, "no port in %s", run.out)
	message := func(address, args string) {
		send(at[1], `{"oscType": "message", "address": "`+address+`", "args": [`+args+`]}`)
	}
	octets(t, slides, 0xC1, 4)
	hears(t, heard, `{"oscType":"message","address":"/slides/show","args":[{"type":"integer","value":1}]}`)
	octets(t, slides, 0x91, 60, 100, 0x81, 60, 64)
	hears(t, heard, `{"oscType":"message","address":"/slides/show","args":[{"type":"integer","value":2}]}`)
	for range 2 { // what is entered again begins again
		message("/tactus/section/fire", `{"type": "string", "value": "chorus"}`)
		octets(t, slides, 0xB1, 7, 100)
		hears(t, heard, `{"oscType":"message","address":"/slides/title","args":[{"type":"string","value":"it is 5"},{"type":"float","value":0.5}]}`)
		message("/tactus/section/fire", `{"type": "string", "value": "verse"}`)
		octets(t, slides, 0xC1, 4)
		hears(t, heard, `{"oscType":"message","address":"/slides/show","args":[{"type":"integer","value":1}]}`)
	}
	message("/tactus/{hold,blackout}", "")
	message("/tactus/release", `{"type": "float", "value": 0}`) // a button let go of
	message("/tactus/master", `{"type": "string", "value": "loud"}`)
	expect(t, run, `HOLD, BLACKOUT"`, `\"loud\" is not a level of 0 to 1`)
	message("/tactus/nothing", "")
	expect(t, run, "no such address")
	send(at[1], `{"oscType": "bundle", "timetag": [0, 1], "elements": [`+
		`{"oscType": "message", "address": "/tactus/release", "args": []},`+
		`{"oscType": "message", "address": "/tactus/restore", "args": [{"type": "true"}]}]}`)
	deadline := time.After(10 * time.Second)
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for before := len(run.out.String()); ; {
		if lines := run.out.String()[before:]; strings.Contains(lines, `BPM"`) {
			break // a place without HOLD or BLACKOUT
		}
		select {
		case <-tick.C:
		case <-deadline:
			require.Fail(t, fmt.Sprintf("still held:\n%s", run.out))
		}
	}
	run.stop(t, syscall.SIGTERM)
}
