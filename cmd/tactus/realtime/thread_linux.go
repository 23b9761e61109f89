package realtime

import (
	"math"
	"os"
	"os/signal"

	"golang.org/x/sys/unix"
)

const (
	// rtPriority is above all ordinary work, and below the kernel's own
	// interrupt threads (50) and an audio server's (common practice, no source:
	// 60 to 90): sound comes first.
	rtPriority = 20
	// spinLimit is how long a thread may compute at that priority without once
	// waiting. A frame is 22.7 ms; ten times that is a fault.
	spinLimit = 250_000 // microseconds
)

const linuxRemedy = `put "@audio - rtprio 40" and "@audio - memlock unlimited" into /etc/security/limits.d/tactus.conf, ` +
	`join that group and log in again; or: sudo setcap cap_sys_nice,cap_ipc_lock+ep PROGRAM; ` +
	`or in a systemd unit: LimitRTPRIO=40 and LimitMEMLOCK=infinity`

// Raise gives the calling thread, which must be locked, real-time priority and
// exact timers, and locks the process's memory, as far as is permitted. lower
// takes all of it back, on the same thread. spun is called if the thread
// computes for a quarter of a second without a wait; its priority is gone then.
func Raise(spun func()) (lower func(), got Grant) {
	// Ordinary threads are woken up to 50 µs late to save power; this one is not.
	_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0)
	end := func() {}
	if raisePriority() == nil {
		got.priority = "real-time priority 20"
		end = guard(unix.Gettid(), spun)
	}
	got.memory = lockMemory() == nil
	if !got.Whole() {
		got.Remedy = linuxRemedy
	}
	return func() {
		end()
		_ = ordinary(0)
		_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 0, 0, 0, 0) // 0 is the default
		if got.memory {
			_ = unix.Munlockall()
		}
	}, got
}

// raisePriority asks for SCHED_FIFO. Threads and processes that this thread
// starts are ordinary again.
func raisePriority() error {
	return unix.SchedSetAttr(0, &unix.SchedAttr{
		Size: unix.SizeofSchedAttr, Policy: unix.SCHED_FIFO, Flags: unix.SCHED_FLAG_RESET_ON_FORK, Priority: rtPriority,
	}, 0)
}

// ordinary makes a thread an ordinary one; 0 is the calling one.
func ordinary(tid int) error {
	return unix.SchedSetAttr(tid, &unix.SchedAttr{
		Size: unix.SizeofSchedAttr, Policy: unix.SCHED_NORMAL, Flags: unix.SCHED_FLAG_RESET_ON_FORK,
	}, 0)
}

// guard takes the priority from a thread that computes on and on: the kernel
// says so with SIGXCPU (setrlimit(2), RLIMIT_RTTIME), and the computer stays
// usable. end lifts the limit.
func guard(tid int, spun func()) (end func()) {
	var old unix.Rlimit
	if unix.Getrlimit(unix.RLIMIT_RTTIME, &old) != nil {
		return func() {}
	}
	signals, done := make(chan os.Signal, 1), make(chan struct{})
	signal.Notify(signals, unix.SIGXCPU)
	limit := unix.Rlimit{Cur: min(spinLimit, old.Max), Max: old.Max}
	_ = unix.Setrlimit(unix.RLIMIT_RTTIME, &limit)
	go func() {
		select {
		case <-signals:
			_ = ordinary(tid)
			spun()
		case <-done:
		}
	}()
	return func() {
		_ = unix.Setrlimit(unix.RLIMIT_RTTIME, &old)
		signal.Stop(signals)
		close(done)
	}
}

// lockMemory keeps pages in memory once they have been touched. It asks only
// where no limit applies: under one, a later allocation would fail instead
// (mlockall(2), MCL_FUTURE), and that ends a Go program. MCL_ONFAULT leaves
// address space that is merely reserved alone.
func lockMemory() error {
	var limit unix.Rlimit
	if err := unix.Getrlimit(unix.RLIMIT_MEMLOCK, &limit); err != nil {
		return err
	}
	if limit.Cur != math.MaxUint64 && !capable(unix.CAP_IPC_LOCK) {
		return unix.EPERM
	}
	return unix.Mlockall(unix.MCL_CURRENT | unix.MCL_FUTURE | unix.MCL_ONFAULT)
}

// capable reports whether the calling thread holds a capability in effect.
func capable(which int) bool {
	header := unix.CapUserHeader{Version: unix.LINUX_CAPABILITY_VERSION_3}
	var sets [2]unix.CapUserData // 64 bits in two halves
	if unix.Capget(&header, &sets[0]) != nil {
		return false
	}
	return sets[which/32].Effective&(1<<(which%32)) != 0
}
