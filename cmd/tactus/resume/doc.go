// Package resume keeps the state of a running show on the disk, so that the next run can
// go on from it after a crash.
//
//	engine.Loop ──checkpoint──► Keeper ──goroutine──► state.0, state.1 in turn ┐
//	the show's files ──archive──► show-CHECKSUM.zip                            ├─► Folder.Read ──► Saved
//	one run at a time: lock                                                    ┘
//
// The loop only copies a checkpoint into memory. A goroutine writes it, by one ordinary
// write, into the older of two files: a write that a crash cuts short leaves the other
// file. What was written stays with the system when a process dies, so nothing is synced:
// a state is of no use after the computer has started again. Where the disk refuses, the
// show goes on without.
package resume
