package realtime

import (
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/sys/unix"

	"tactus/clock"
)

// fifoThreads counts the threads of this process at real-time priority.
func fifoThreads(t *testing.T) (n int) {
	t.Helper()
	tasks, err := os.ReadDir("/proc/self/task")
	if err != nil {
		t.Fatal(err)
	}
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
	if err != nil {
		t.Fatal(err)
	}
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
		if !r.Got.Whole() {
			t.Errorf("as root got only %s", r.Got.String())
		}
		release := make(chan struct{})
		for range 5 {
			up := make(chan struct{})
			go func() { runtime.LockOSThread(); close(up); <-release }()
			<-up
		}
		if n := fifoThreads(t); n != 1 {
			t.Errorf("%d threads at real-time priority, want 1", n)
		}
		if lockedKB(t) == "0" {
			t.Error("no memory is locked")
		}
		close(release)
		return nil
	})
	if n := fifoThreads(t); n != 0 {
		t.Errorf("%d threads are left at real-time priority", n)
	}
	if kb := lockedKB(t); kb != "0" {
		t.Errorf("%s kB are left locked", kb)
	}
}

// A loop that computes on and on loses its priority, and says so; the process
// lives.
func TestSpinLosesPriority(t *testing.T) {
	permitted(t)
	told := make(chan struct{})
	r := NewThread(clock.NewBase(), false, zerolog.Nop())
	_ = r.Run(func() error {
		lower, got := Raise(func() { close(told) })
		defer lower()
		if got.priority == "" {
			t.Error("as root got no priority")
			return nil
		}
		for end := time.Now().Add(20 * time.Second); time.Now().Before(end); {
			select {
			case <-told:
				attr, err := unix.SchedGetAttr(0, 0)
				if err != nil || attr.Policy != unix.SCHED_NORMAL {
					t.Errorf("policy %d (%v) after the spin, want an ordinary one", attr.Policy, err)
				}
				return nil
			default:
			}
		}
		t.Error("computed for 20 s at real-time priority")
		return nil
	})
}
