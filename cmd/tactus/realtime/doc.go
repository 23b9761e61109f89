// Package realtime lets the frame loop wake on time: it waits with the best
// timer that the system has, on a thread with real-time priority and locked
// memory where the user may have them.
//
//	Thread.Run(loop) ──► a thread of its own, raised ──► Sleeper.Wait(until) ──► the next frame
//
// What the system refuses is told once, with what to do about it, and the loop
// runs all the same.
//
// Sources: clock_nanosleep(2), sched_setattr(2), setrlimit(2), mlockall(2);
// mach_wait_until and thread policies of macOS; waitable timers of Windows.
package realtime
