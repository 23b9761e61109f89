package main

import (
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// inNamespace calls f on a thread whose new sockets are in a network namespace. f must not
// start goroutines that open any.
func inNamespace(t testing.TB, name string, f func()) {
	t.Helper()
	to, err := os.Open("/run/netns/" + name)
	require.NoError(t, err)
	defer to.Close()
	done := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // never undone: the thread ends with this goroutine
		err := unix.Setns(int(to.Fd()), unix.CLONE_NEWNET)
		if err == nil {
			f()
		}
		done <- err
	}()
	require.NoError(t, <-done)
}

// Hundreds of connections from one computer, all of them idle, keep nobody else from the
// page.
func TestIdleConnectionsOfOneLeaveRoom(t *testing.T) {
	needTools(t, true, "ip")
	ns, state := namespace(t), t.TempDir()
	const here, crowd, tablet = "10.77.0.1", "10.77.0.2", "10.77.0.3"
	for _, a := range []string{here, crowd, tablet} {
		command(t, "ip", "-n", ns, "address", "add", a+"/24", "dev", "lo")
	}
	set := exec.Command(binary(t), "passphrase", "control", "--state", state)
	set.Stdin = strings.NewReader("north mole light\n")
	out, err := set.CombinedOutput()
	require.NoError(t, err, "%s", out)
	start(t, "open it in a browser", "ip", "netns", "exec", ns, binary(t), "run", "demo", "--protocol", "virtual", "--midi", "plan",
		"--panel-at", "0.0.0.0:4480", "--state", state)
	ask := func(from, to string) (net.Conn, string) {
		d := net.Dialer{LocalAddr: &net.TCPAddr{IP: net.ParseIP(from)}, Timeout: time.Second}
		c, err := d.Dial("tcp", to+":4480")
		if err != nil {
			return nil, err.Error()
		}
		_ = c.SetDeadline(time.Now().Add(2 * time.Second))
		_, _ = fmt.Fprintf(c, "GET /api/v1/access HTTP/1.1\r\nHost: %s:4480\r\n\r\n", to)
		answer := make([]byte, 12)
		if _, err := io.ReadFull(c, answer); err != nil {
			return c, err.Error()
		}
		return c, string(answer)
	}
	inNamespace(t, ns, func() {
		taken := 0
		for range 310 {
			c, answer := ask(crowd, here)
			if c != nil {
				defer c.Close()
			}
			if answer == "HTTP/1.1 200" {
				taken++
			}
		}
		assert.GreaterOrEqual(t, taken, 32, "connections of one computer")
		assert.Less(t, taken, 310, "connections of one computer: nothing was limited")
		for _, to := range []string{here, "127.0.0.1"} {
			from := tablet
			if to != here {
				from = to
			}
			c, answer := ask(from, to)
			if c != nil {
				defer c.Close()
			}
			assert.Equal(t, "HTTP/1.1 200", answer, "from %s while %d connections of another are idle", from, taken)
		}
	})
}
