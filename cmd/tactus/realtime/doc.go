// Package realtime wakes the frame loop on time. It waits with the best timer of the
// system, on a thread with real-time priority and locked memory if the user is
// allowed to have them.
//
//	Thread.Run(loop) ──► a thread of its own, raised ──► Sleeper.Wait(until) ──► the next frame
//
// It logs once what the system refuses and how to get it; the loop runs in any case.
//
// Sources: clock_nanosleep(2), sched_setattr(2), setrlimit(2), mlockall(2);
// mach_wait_until and thread policies of macOS; waitable timers of Windows.
package realtime
