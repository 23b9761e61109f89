// Package live plays a show: it opens MIDI inputs, the frame loop, the senders,
// the page, OSC, and a journal, as a command line asks, and runs them until the
// show is over.
//
//	MIDI ──► inbox ──► Translator ──► engine.Loop ──► senders.Set ──► network
//	OSC  ──► oscInput ─────────────────▲    │  └────► messages ─────► MIDI and OSC of cues
//	page, player, walker ──────────────┘    ├───────► journalFile ──► disk
//	showfiles.Reloader ──► reloads ────► Translator   └─ copies ────► page, log
//
// Nothing on the right is waited for by the loop. What goes wrong on a night is
// logged and the show goes on.
package live
