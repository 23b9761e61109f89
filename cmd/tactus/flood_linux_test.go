package main

import (
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// startQuiet starts a program that prints too little to be waited for, and ends it with
// the test.
func startQuiet(t testing.TB, args ...string) *exec.Cmd {
	t.Helper()
	c := exec.Command(binary(t), args...)
	require.NoError(t, c.Start())
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	return c
}

// memoryOf returns how much memory a process uses, in bytes.
func memoryOf(t testing.TB, pid int) int {
	t.Helper()
	src, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	require.NoError(t, err)
	_, text, found := strings.Cut(string(src), "VmRSS:")
	require.True(t, found, "%s", src)
	kilobytes, err := strconv.Atoi(strings.Fields(text)[0])
	require.NoError(t, err)
	return kilobytes << 10
}

// Questions that are asked and hung up, thousands a second, leave nothing behind: no
// memory, no queue, and a health that is told as it is.
func TestAbandonedQuestionsLeaveNothing(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector's own memory would be counted; make quiet runs this without it")
	}
	const flood = 3 * time.Second
	page := freePort(t)
	c := startQuiet(t, "run", "demo", "--protocol", "virtual", "--midi", "plan", "--real-time=false", "--panel-at", page)
	waitFor(t, func() bool { frames, ok := measurement(page, "frames_total"); return ok && frames > 50 })
	before := memoryOf(t, c.Process.Pid)
	question := []byte("GET /api/v1/explain?head=0 HTTP/1.1\r\nHost: " + page + "\r\n\r\n")
	var asked, unhealthy atomic.Int64
	var group sync.WaitGroup
	for range 16 {
		group.Go(func() {
			for over := time.After(flood); ; {
				select {
				case <-over:
					return
				default:
				}
				if conn, err := net.Dial("tcp", page); err == nil {
					_, _ = conn.Write(question)
					conn.Close()
					asked.Add(1)
				}
			}
		})
	}
	group.Go(func() {
		for range 10 {
			if r, err := http.Get("http://" + page + "/healthz"); err == nil {
				if r.StatusCode != http.StatusOK {
					unhealthy.Add(1)
				}
				r.Body.Close()
			}
		}
	})
	group.Wait()
	began := time.Now()
	waitFor(t, func() bool {
		r, err := http.Get("http://" + page + "/api/v1/explain?head=0")
		if err != nil {
			return false
		}
		defer r.Body.Close()
		return r.StatusCode == http.StatusOK
	})
	grown := memoryOf(t, c.Process.Pid) - before
	t.Logf("%d questions asked and hung up in %s: memory grew by %.1f MB, an answer came %s later, %d times false words of health", asked.Load(), flood, float64(grown)/1e6, time.Since(began).Round(time.Millisecond), unhealthy.Load())
	assert.Greater(t, asked.Load(), int64(1000), "questions")
	assert.Less(t, grown, 30<<20, "bytes of memory after %d questions", asked.Load())
	assert.Less(t, time.Since(began), 2*time.Second, "until a question was answered")
	assert.Zero(t, unhealthy.Load(), "false words of health")
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	endsWithin(t, c, 10*time.Second)
}

// bundle is an OSC bundle of so many messages that set the grand master (OSC 1.0, OSC
// Bundles): "#bundle", the time tag 1, which is at once, and each message after its size.
func bundle(messages int) []byte {
	message := []byte("/tactus/master\x00\x00,f\x00\x00\x3f\x80\x00\x00")
	b := append([]byte("#bundle\x00"), 0, 0, 0, 0, 0, 0, 0, 1)
	for range messages {
		b = append(append(b, 0, 0, 0, byte(len(message))), message...)
	}
	return b
}

// Twenty OSC packets a second of a thousand messages each do not move a locked clock, and
// what was dropped of them is told as OSC.
func TestFloodOfOSCLeavesTheClock(t *testing.T) {
	const flood = 5 * time.Second
	fifo, page, oscIn := filepath.Join(t.TempDir(), "daw"), freePort(t), freePort(t)
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	run := start(t, "MIDI in", binary(t), "run", "demo", "--protocol", "virtual", "--midi", fifo, "--panel-at", page, "--osc-listen", oscIn, "--log", "json")
	f, err := os.OpenFile(fifo, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	defer playDemo(t, f)()
	expect(t, run, `"to":"locked"`)
	tempo := func() float64 { v, _ := measurement(page, "tempo_quarters_per_minute"); return v }
	before := tempo()
	lowest, highest := before, before
	to, err := net.Dial("udp", oscIn)
	require.NoError(t, err)
	defer to.Close()
	packet := bundle(1000)
	tick, over := time.NewTicker(time.Second/20), time.After(flood)
	defer tick.Stop()
	for ended := false; !ended; {
		select {
		case <-tick.C:
			_, err = to.Write(packet)
			require.NoError(t, err)
			now := tempo()
			lowest, highest = min(lowest, now), max(highest, now)
		case <-over:
			ended = true
		}
	}
	midiLost, _ := measurement(page, "midi_dropped_total")
	oscLost, _ := measurement(page, "osc_dropped_total")
	t.Logf("tempo %.2f before, %.2f to %.2f in the flood; dropped: MIDI %.0f, OSC %.0f", before, lowest, highest, midiLost, oscLost)
	assert.InDelta(t, before, lowest, 0.5, "lowest tempo in the flood")
	assert.InDelta(t, before, highest, 0.5, "highest tempo in the flood")
	assert.Zero(t, midiLost, "MIDI messages dropped")
	expect(t, run, "OSC that could not be used", `"dropped":`)
	run.stop(t, syscall.SIGTERM)
	assert.NotContains(t, run.out.String(), "MIDI came faster")
	assert.NotContains(t, run.out.String(), `"to":"holdover"`)
}
