package realtime

import (
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/clock"
)

// fifoThreads counts the threads of this process at real-time priority.
func fifoThreads(t *testing.T) (n int) {
	t.Helper()
	tasks, err := os.ReadDir("/proc/self/task")
	require.NoError(t, err)
	for _, task := range tasks {
		// Field 41 of /proc/PID/stat is the policy (proc_pid_stat(5)).
		src, err := os.ReadFile("/proc/self/task/" + task.Name() + "/stat")
		if err != nil {
			continue // it has ended
		}
		_, rest, _ := strings.Cut(string(src), ") ")
		if fields := strings.Fields(rest); len(fields) > 38 && fields[38] == "1" {
			n++
		}
	}
	return n
}

func lockedKB(t *testing.T) string {
	t.Helper()
	src, err := os.ReadFile("/proc/self/status")
	require.NoError(t, err)
	_, rest, _ := strings.Cut(string(src), "VmLck:")
	return strings.Fields(rest)[0]
}

// permitted skips where this user may not have real-time priority.
func permitted(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("needs real-time priority: run as root, or " + linuxRemedy)
	}
}

// While the loop runs one thread has the priority, however many are started
// meanwhile; afterwards none has, and no memory is locked.
func TestRaiseDoesNotLeak(t *testing.T) {
	permitted(t)
	r := NewThread(clock.NewBase(), true, zerolog.Nop())
	_ = r.Run(func() error {
		assert.True(t, r.Got.Whole(), "as root got only %s", r.Got.String())
		release := make(chan struct{})
		for range 5 {
			up := make(chan struct{})
			go func() { runtime.LockOSThread(); close(up); <-release }()
			<-up
		}
		assert.Equal(t, 1, fifoThreads(t), "threads at real-time priority")
		assert.NotEqual(t, "0", lockedKB(t), "no memory is locked")
		close(release)
		return nil
	})
	assert.Zero(t, fifoThreads(t), "threads are left at real-time priority")
	assert.Equal(t, "0", lockedKB(t), "kB are left locked")
}

// A loop that computes on and on loses its priority, and says so; the process
// lives.
func TestSpinLosesPriority(t *testing.T) {
	if raceEnabled {
		t.Skip("it takes a processor for itself, which other tests beside it want too: make quiet runs this")
	}
	permitted(t)
	told := make(chan struct{})
	r := NewThread(clock.NewBase(), false, zerolog.Nop())
	_ = r.Run(func() error {
		lower, got := Raise(func() { close(told) })
		defer lower()
		if !assert.NotEmpty(t, got.priority, "as root got no priority") {
			return nil
		}
		for end := time.Now().Add(20 * time.Second); time.Now().Before(end); {
			select {
			case <-told:
				attr, err := unix.SchedGetAttr(0, 0)
				if assert.NoError(t, err) {
					assert.EqualValues(t, unix.SCHED_NORMAL, attr.Policy)
				}
				return nil
			default:
			}
		}
		assert.Fail(t, "computed for 20 s at real-time priority")
		return nil
	})
}
