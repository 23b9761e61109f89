package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/cmd/tactus/pairing"
)

// freePort returns an address of this computer that was free a moment ago, for a program
// that cannot say where its page is.
func freePort(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().String()
}

// measurement returns the value of a metric of the page, such as clock_locked; ok is
// false where the page does not answer or does not have it.
func measurement(page, name string) (value float64, ok bool) {
	answer, err := http.Get("http://" + page + "/metrics")
	if err != nil {
		return 0, false
	}
	defer answer.Body.Close()
	for lines := bufio.NewScanner(answer.Body); lines.Scan(); {
		if text, found := strings.CutPrefix(lines.Text(), "tactus_"+name+" "); found {
			value, err = strconv.ParseFloat(text, 64)
			return value, err == nil
		}
	}
	return 0, false
}

// fill writes to a pipe until it takes no more.
func fill(t testing.TB, pipe *os.File) {
	t.Helper()
	fd := int(pipe.Fd())
	require.NoError(t, unix.SetNonblock(fd, true)) // of the open file, so for the program too
	line := []byte(strings.Repeat("x", 63) + "\n")
	for {
		if _, err := unix.Write(fd, line); errors.Is(err, unix.EAGAIN) {
			break
		} else {
			require.NoError(t, err)
		}
	}
	require.NoError(t, unix.SetNonblock(fd, false))
}

// endsWithin fails unless a program ends by itself in time.
func endsWithin(t testing.TB, c *exec.Cmd, limit time.Duration) {
	t.Helper()
	done := make(chan error, 1)
	go func() { done <- c.Wait() }()
	select {
	case <-done:
	case <-time.After(limit):
		_ = c.Process.Kill()
		<-done
		require.Fail(t, fmt.Sprintf("it did not end within %s of SIGTERM", limit))
	}
}

// Nobody reads the log of a run any more, and the MIDI port comes and goes: the clock
// locks every time, the run ends on SIGTERM, and a reader that comes back gets the log.
func TestFullPipeHoldsUpNothing(t *testing.T) {
	for _, form := range []string{"json", "console"} {
		t.Run(form, func(t *testing.T) {
			t.Parallel()
			testFullPipe(t, form)
		})
	}
}

func testFullPipe(t *testing.T, form string) {
	fifo, page := filepath.Join(t.TempDir(), "daw"), freePort(t)
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	read, write, err := os.Pipe()
	require.NoError(t, err)
	defer read.Close()
	_, err = unix.FcntlInt(write.Fd(), unix.F_SETPIPE_SZ, 4096)
	require.NoError(t, err)
	fill(t, write)
	c := exec.Command(binary(t), "run", "demo", "--protocol", "virtual", "--midi", fifo, "--log", form, "--health", "1s", "--panel-at", page)
	c.Stderr = write
	require.NoError(t, c.Start())
	defer func() { _ = c.Process.Kill() }()
	write.Close()
	locked := func(want float64) func() bool {
		return func() bool { v, ok := measurement(page, "clock_locked"); return ok && v == want }
	}
	for range 3 {
		var f *os.File
		waitFor(t, func() (open bool) { // without waiting for a program that never opens its end
			f, err = os.OpenFile(fifo, os.O_WRONLY|unix.O_NONBLOCK, 0)
			return err == nil
		})
		stop := playDemo(t, f)
		waitFor(t, locked(1))
		stop()
		f.Close()
		waitFor(t, locked(0))
	}
	// Somebody reads again.
	taken := make(chan string, 1)
	go func() { b, _ := io.ReadAll(read); taken <- string(b) }()
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	endsWithin(t, c, 10*time.Second)
	log := <-taken
	assert.Contains(t, log, "MIDI port lost")
	assert.Contains(t, log, "goodbye")
}

// A run whose log is full, or whose reader has gone, ends on SIGTERM, and not before.
func TestRunEndsWithoutAReader(t *testing.T) {
	for _, gone := range []bool{false, true} {
		t.Run(fmt.Sprintf("gone=%v", gone), func(t *testing.T) {
			t.Parallel()
			page := freePort(t)
			read, write, err := os.Pipe()
			require.NoError(t, err)
			defer read.Close()
			if gone {
				require.NoError(t, read.Close())
			} else {
				fill(t, write)
			}
			c := exec.Command(binary(t), "run", "demo", "--protocol", "virtual", "--midi", "plan", "--health", "1s", "--panel-at", page)
			c.Stderr = write
			require.NoError(t, c.Start())
			defer func() { _ = c.Process.Kill() }()
			write.Close()
			waitFor(t, func() bool { frames, ok := measurement(page, "frames_total"); return ok && frames > 100 })
			require.NoError(t, c.Process.Signal(syscall.SIGTERM))
			endsWithin(t, c, 10*time.Second)
			assert.Equal(t, exitOK, c.ProcessState.ExitCode(), "%v", c.ProcessState)
		})
	}
}

// So does a standby, whose leader does not answer meanwhile.
func TestStandbyEndsWithoutAReader(t *testing.T) {
	for _, gone := range []bool{false, true} {
		t.Run(fmt.Sprintf("gone=%v", gone), func(t *testing.T) {
			t.Parallel()
			state := t.TempDir()
			_, err := pairing.Save(state, pairing.NewKey(), false)
			require.NoError(t, err)
			leader, err := net.Listen("tcp", "127.0.0.1:0")
			require.NoError(t, err)
			defer leader.Close()
			read, write, err := os.Pipe()
			require.NoError(t, err)
			defer read.Close()
			if gone {
				require.NoError(t, read.Close())
			} else {
				fill(t, write)
			}
			c := exec.Command(binary(t), "run", "--standby", leader.Addr().String(), "--state", state)
			c.Stderr = write
			require.NoError(t, c.Start())
			defer func() { _ = c.Process.Kill() }()
			write.Close()
			called := make(chan struct{})
			go func() {
				defer close(called)
				if conn, err := leader.Accept(); err == nil {
					t.Cleanup(func() { conn.Close() })
				}
			}()
			waitFor(t, func() bool {
				select {
				case <-called:
					return true
				default:
					return false
				}
			})
			require.NoError(t, c.Process.Signal(syscall.SIGTERM))
			endsWithin(t, c, 10*time.Second)
			assert.Equal(t, exitOK, c.ProcessState.ExitCode(), "%v", c.ProcessState)
		})
	}
}

// A rehearsal draws on a terminal that stops taking anything: the show goes on, and
// SIGTERM ends it.
func TestRehearsalOnAStalledTerminal(t *testing.T) {
	controller, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("no terminals here: ", err)
	}
	defer controller.Close()
	require.NoError(t, unix.IoctlSetPointerInt(int(controller.Fd()), unix.TIOCSPTLCK, 0))
	number, err := unix.IoctlGetInt(int(controller.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	screen, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	page := freePort(t)
	c := exec.Command(binary(t), "rehearse", "demo", "--panel-at", page)
	c.Stdout, c.Stderr = screen, screen
	require.NoError(t, c.Start())
	defer func() { _ = c.Process.Kill() }()
	screen.Close()
	// Nothing reads what is drawn, 25 times a second: it is stuck after some kilobytes.
	waitFor(t, func() bool { frames, ok := measurement(page, "frames_total"); return ok && frames > 100 })
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	endsWithin(t, c, 10*time.Second)
}

// Commands that play nothing end on SIGTERM too while a full pipe takes none of their
// output.
func TestCommandEndsOnAFullPipe(t *testing.T) {
	read, write, err := os.Pipe()
	require.NoError(t, err)
	defer read.Close()
	size, err := unix.FcntlInt(write.Fd(), unix.F_SETPIPE_SZ, 4096) // of some hundred thousand bytes
	require.NoError(t, err)
	c := exec.Command(binary(t), "schema", "song")
	c.Stdout = write
	require.NoError(t, c.Start())
	defer func() { _ = c.Process.Kill() }()
	write.Close()
	waitFor(t, func() bool { // it waits for the pipe
		n, err := unix.IoctlGetInt(int(read.Fd()), unix.TIOCINQ)
		return err == nil && n >= size
	})
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	endsWithin(t, c, 3*time.Second)
	assert.Equal(t, exitFail, c.ProcessState.ExitCode(), "%v", c.ProcessState)
}

// A journal that comes slowly through a FIFO, or not at all, holds up no SIGTERM; nor does
// a MIDI file that never comes.
func TestReadersEndOnASignal(t *testing.T) {
	for _, command := range [][]string{{"replay"}, {"import", "midi"}} {
		t.Run(command[0], func(t *testing.T) {
			t.Parallel()
			fifo := filepath.Join(t.TempDir(), "slow")
			require.NoError(t, syscall.Mkfifo(fifo, 0o600))
			c := exec.Command(binary(t), append(command, fifo)...)
			require.NoError(t, c.Start())
			defer func() { _ = c.Process.Kill() }()
			var feed *os.File
			waitFor(t, func() (open bool) { // it reads
				var err error
				feed, err = os.OpenFile(fifo, os.O_WRONLY|unix.O_NONBLOCK, 0)
				return err == nil
			})
			defer feed.Close()
			require.NoError(t, c.Process.Signal(syscall.SIGTERM))
			endsWithin(t, c, 3*time.Second)
			assert.Equal(t, exitFail, c.ProcessState.ExitCode(), "%v", c.ProcessState)
		})
	}
}

// What the header of a journal says reaches the terminal without characters that it obeys.
func TestJournalHeaderCannotSpeakToTheTerminal(t *testing.T) {
	name := filepath.Join(t.TempDir(), "j")
	out, err := exec.Command(binary(t), "run", "demo", "--midi", "plan", "--protocol", "virtual", "--for", "1s", "--journal", name).CombinedOutput()
	require.NoError(t, err, "%s", out)
	src, err := os.ReadFile(name)
	require.NoError(t, err)
	hostile := strings.Replace(string(src), `show "demo"`, `show "\x1b]0;owned\x07\u009b2J\u202egnp"`, 1)
	require.NotEqual(t, string(src), hostile)
	require.NoError(t, os.WriteFile(name, []byte(hostile), 0o600))
	out, err = exec.Command(binary(t), "replay", name).CombinedOutput()
	require.Error(t, err, "there is no such show")
	require.Contains(t, string(out), "owned")
	assert.False(t, strings.ContainsAny(string(out), "\x1b\x07\u009b\u202e"), "%q", out)
}
