package realtime

import (
	"math"
	"os"
	"os/signal"

	"golang.org/x/sys/unix"
)

const (
	// rtPriority is above all ordinary work, and below the kernel's interrupt
	// threads (50) and an audio server (60 to 90; common practice, no source),
	// because sound is more important.
	rtPriority = 20
	// spinLimit is the longest that a thread may compute at that priority without
	// waiting. A frame is 22.7 ms; more than ten times that is a fault.
	spinLimit = 250_000 // microseconds
)

const linuxRemedy = `put "@audio - rtprio 40" and "@audio - memlock unlimited" into /etc/security/limits.d/tactus.conf, ` +
	`join that group and log in again; or: sudo setcap cap_sys_nice,cap_ipc_lock+ep PROGRAM; ` +
	`or in a systemd unit: LimitRTPRIO=40 and LimitMEMLOCK=infinity`

// Raise gives the calling thread, which must be locked, real-time priority and exact
// timers, and locks the process's memory, as far as permitted. lower undoes all of
// it and must run on the same thread. spun is called if the thread computes for a
// quarter of a second without a wait; it has then lost its priority.
func Raise(spun func()) (lower func(), got Grant) {
	// The kernel may wake ordinary threads up to 50 µs late to save power.
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

// raisePriority asks for SCHED_FIFO. Threads and processes started by this thread do
// not inherit it.
func raisePriority() error {
	return unix.SchedSetAttr(0, &unix.SchedAttr{
		Size: unix.SizeofSchedAttr, Policy: unix.SCHED_FIFO, Flags: unix.SCHED_FLAG_RESET_ON_FORK, Priority: rtPriority,
	}, 0)
}

// ordinary gives a thread ordinary priority; tid 0 is the calling thread.
func ordinary(tid int) error {
	return unix.SchedSetAttr(tid, &unix.SchedAttr{
		Size: unix.SizeofSchedAttr, Policy: unix.SCHED_NORMAL, Flags: unix.SCHED_FLAG_RESET_ON_FORK,
	}, 0)
}

// guard removes the priority from a thread that computes without a pause, so that
// the computer stays usable. The kernel reports such a thread by SIGXCPU
// (setrlimit(2), RLIMIT_RTTIME). end removes the limit.
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

// lockMemory keeps pages in memory once they are used. It does so only without a
// memory-lock limit: under a limit a later allocation could fail (mlockall(2),
// MCL_FUTURE), and a Go program would end. MCL_ONFAULT does not lock address space
// that is only reserved.
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

// capable reports whether the calling thread has an effective capability.
func capable(which int) bool {
	header := unix.CapUserHeader{Version: unix.LINUX_CAPABILITY_VERSION_3}
	var sets [2]unix.CapUserData // 64 bits in two halves
	if unix.Capget(&header, &sets[0]) != nil {
		return false
	}
	return sets[which/32].Effective&(1<<(which%32)) != 0
}
