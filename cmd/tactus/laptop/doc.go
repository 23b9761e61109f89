// Package laptop judges whether a computer is fit to run a show: from what was
// measured while the real loop ran on it, and from what can be seen of it.
//
//	Probe (every wake of the loop) ─┐
//	Ticks (MIDI clock as received) ─┼─► Judge ─► Report: words, JSON, a picture
//	Facts (battery, Wi-Fi, …)      ─┘
//
// The limits in [Judge] are ours: a frame lasts 22.7 ms at 44 Hz (E1.11), and
// light a few milliseconds late is not seen to miss a beat. What is read of a
// computer is described in the Linux kernel's documentation (sysfs-class-power,
// cpufreq, proc(5)); other systems are measured, not looked at.
package laptop
