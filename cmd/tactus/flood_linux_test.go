package main

import (
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
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
