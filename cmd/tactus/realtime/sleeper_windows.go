package realtime

import (
	"unsafe"

	"golang.org/x/sys/windows"

	"tactus/clock"
)

// This file is compiled and vetted, but has never run on Windows. Numbers are from
// Microsoft's headers synchapi.h, winnt.h, winbase.h and avrt.h (from memory).
const (
	timerHighResolution  = 0x2 // Windows 10 1803 and later
	timerAllAccess       = 0x1F0003
	threadTimeCritical   = 15
	threadPriorityNormal = 0
)

// systemNap waits for a waitable timer, of high resolution if the system has one.
// The time is relative, because absolute times follow the wall clock, which may be
// set.
func systemNap(clock.Base) (string, func(now, until clock.Time)) {
	kernel := windows.NewLazySystemDLL("kernel32.dll")
	create, set := kernel.NewProc("CreateWaitableTimerExW"), kernel.NewProc("SetWaitableTimer")
	if create.Find() != nil || set.Find() != nil {
		return "", nil
	}
	kind := "a waitable timer of high resolution"
	timer, _, _ := create.Call(0, 0, timerHighResolution, timerAllAccess)
	if timer == 0 {
		kind = "a waitable timer"
		if timer, _, _ = create.Call(0, 0, 0, timerAllAccess); timer == 0 {
			return "", nil
		}
	}
	due := new(int64)
	return kind, func(now, until clock.Time) {
		*due = hundreds(int64(until - now))
		if ok, _, _ := set.Call(timer, uintptr(unsafe.Pointer(due)), 0, 0, 0, 0); ok != 0 {
			_, _ = windows.WaitForSingleObject(windows.Handle(timer), uint32(longestSleep/clock.Millisecond)+1)
		}
	}
}

// Raise asks for the scheduling class of audio programs, else for the highest
// priority of a thread. It also sets the system's timer interrupt to 1 ms, because
// Go reads time from a counter that advances with it.
func Raise(func()) (lower func(), got Grant) {
	got = Grant{noMemory: true, Remedy: "Windows refused a higher priority for the thread; close other programs"}
	fine := windows.TimeBeginPeriod(1) == nil
	undo := audioClass()
	got.priority = "the audio class"
	if undo == nil {
		undo = timeCritical()
		got.priority = "time-critical priority"
	}
	if undo == nil {
		undo, got.priority = func() {}, ""
	} else {
		got.Remedy = ""
	}
	return func() {
		undo()
		if fine {
			_ = windows.TimeEndPeriod(1)
		}
	}, got
}

// audioClass adds the calling thread to the multimedia class scheduler's task for
// audio; it returns nil when refused.
func audioClass() (undo func()) {
	avrt := windows.NewLazySystemDLL("avrt.dll")
	join, leave := avrt.NewProc("AvSetMmThreadCharacteristicsW"), avrt.NewProc("AvRevertMmThreadCharacteristics")
	task, err := windows.UTF16PtrFromString("Pro Audio")
	if err != nil || join.Find() != nil || leave.Find() != nil {
		return nil
	}
	var index uint32
	handle, _, _ := join.Call(uintptr(unsafe.Pointer(task)), uintptr(unsafe.Pointer(&index)))
	if handle == 0 {
		return nil
	}
	return func() { _, _, _ = leave.Call(handle) }
}

// timeCritical gives the calling thread the highest priority; it returns nil when
// refused.
func timeCritical() (undo func()) {
	set := windows.NewLazySystemDLL("kernel32.dll").NewProc("SetThreadPriority")
	if set.Find() != nil {
		return nil
	}
	thread := uintptr(windows.CurrentThread())
	if ok, _, _ := set.Call(thread, threadTimeCritical); ok == 0 {
		return nil
	}
	return func() { _, _, _ = set.Call(thread, threadPriorityNormal) }
}
