// Package laptop judges whether a computer is fit to run a show. It uses
// measurements from a run of the real frame loop, and facts about the computer:
//
//	Probe (every wake of the loop) ─┐
//	Ticks (MIDI clock as received) ─┼─► Judge ─► Report: words, JSON, a picture
//	Facts (battery, Wi-Fi, …)      ─┘
//
// The limits in [Judge] are our own: a frame lasts 22.7 ms at 44 Hz (E1.11), and
// nobody sees that light is a few milliseconds late. The Linux kernel's
// documentation (sysfs-class-power, cpufreq, proc(5)) describes the files read for
// the facts. Other systems are only measured.
package laptop
