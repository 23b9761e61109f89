// Package replay plays a journal again through the same clock and engine,
// offline, and tells whether every frame comes out as it was played.
//
//	journal.Reader ──records──► Replay ──► engine.Replay ──frames──┬─► checksums compared
//	                                                               ├─► report: what was played beside what was planned
//	                                                               └─► capture: the packets of the wire, as pcapng
package replay
