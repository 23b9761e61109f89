package realtime

import (
	"github.com/ebitengine/purego"

	"tactus/clock"
	"tactus/protocol/dmx"
)

// This file is compiled and vetted, but has never run on macOS. Names and numbers
// are from Apple's headers mach/mach_time.h, mach/thread_policy.h and
// mach/kern_return.h (from memory).
const (
	libSystem                  = "/usr/lib/libSystem.B.dylib"
	threadTimeConstraintPolicy = 2
	threadTimeConstraintCount  = 4 // number of 32-bit words in the policy
	kernSuccess                = 0
)

// timeConstraint is thread_time_constraint_policy, in ticks.
type timeConstraint struct {
	period, computation, constraint uint32
	preemptible                     int32
}

// machCalls are the system's functions that are looked up once.
type machCalls struct {
	timebaseInfo    func(*timebase) int32
	threadSelf      func() uint32
	threadPolicySet func(thread, flavor uint32, policy *timeConstraint, count uint32) int32
	absoluteTime    func() uint64
	waitUntil       uintptr // called by address, because each frame calls it
	base            timebase
}

// openMach looks up the functions; ok is false when one is missing.
func openMach() (m machCalls, ok bool) {
	lib, err := purego.Dlopen(libSystem, purego.RTLD_LAZY|purego.RTLD_GLOBAL)
	if err != nil {
		return m, false
	}
	for name, f := range map[string]any{
		"mach_timebase_info": &m.timebaseInfo, "mach_thread_self": &m.threadSelf,
		"thread_policy_set": &m.threadPolicySet, "mach_absolute_time": &m.absoluteTime,
	} {
		address, err := purego.Dlsym(lib, name)
		if err != nil {
			return m, false
		}
		purego.RegisterFunc(f, address)
	}
	if m.waitUntil, err = purego.Dlsym(lib, "mach_wait_until"); err != nil {
		return m, false
	}
	m.timebaseInfo(&m.base)
	return m, m.base.valid()
}

// systemNap sleeps until an absolute tick of mach_absolute_time. Go's monotonic time
// on macOS counts the same ticks (runtime, nanotime1).
func systemNap(base clock.Base) (string, func(now, until clock.Time)) {
	m, ok := openMach()
	if !ok {
		return "", nil
	}
	a := align(base, func() int64 { return m.base.nanoseconds(m.absoluteTime()) })
	return "mach_wait_until", func(_, until clock.Time) {
		purego.SyscallN(m.waitUntil, uintptr(m.base.ticks(a.counterAt(until))))
	}
}

// Raise tells the system that the calling thread computes for up to 2 ms in each
// frame and must finish within 5 ms. macOS needs no locked memory.
func Raise(func()) (lower func(), got Grant) {
	got = Grant{noMemory: true, Remedy: "macOS refused a time constraint; close other programs"}
	m, ok := openMach()
	if !ok {
		return func() {}, got
	}
	policy := timeConstraint{
		period:      uint32(m.base.ticks(int64(clock.Second / dmx.MaxRate))),
		computation: uint32(m.base.ticks(int64(2 * clock.Millisecond))),
		constraint:  uint32(m.base.ticks(int64(5 * clock.Millisecond))),
		preemptible: 1,
	}
	if m.threadPolicySet(m.threadSelf(), threadTimeConstraintPolicy, &policy, threadTimeConstraintCount) == kernSuccess {
		got.priority, got.Remedy = "a time constraint", ""
	}
	return func() {}, got // the policy ends with the thread
}
