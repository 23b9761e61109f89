// Package trial plays a show for a while on this computer, as a run does, and
// measures how well it wakes, sends and hears.
//
//	look at the system ──┐
//	live.Session ──probe─┴──► laptop.Judge ──► laptop.Report
//
// Packets go to a port of its own unless another place is asked for.
package trial
