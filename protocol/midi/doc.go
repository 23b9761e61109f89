// Package midi reads MIDI 1.0: bytes and ports become stamped messages.
//
//	raw device, FIFO, serial ─┐
//	Standard MIDI File ───────┤ Port.Run        Inbox
//	system driver, in a child ┘   │ read, stamp   │ bounded, never waits
//	   process of this program    └─ Stream.Byte ─┴─► Message ─► Message.Clock
//	                                                  (notes, programs)  (clock.Event)
//
// A [Message] is a small value. A [Stream] finds messages in a byte stream. A
// [Port] stamps what it reads with a [clock.Base] as its first act after the
// read, and puts it into an [Inbox]. A port that vanishes puts one message of
// kind [Lost], reports a [Status], and tries again until its context ends.
//
// What goes out is a [Message] too. [Output.Send] puts it into a bounded queue
// that a goroutine of the port's own writes, so that no sender ever waits:
//
//	NewNoteOn … ─► Output.Send ─► queue ─► Output.Run ─► device, FIFO, file, driver's child
//
// The driver of the operating system is C code. It runs in a child process
// ([ChildMain]), so that its crash or hang is a lost port and nothing more.
// Linux builds leave it out unless built with -tags rtmidi.
//
// Sources: MIDI 1.0 Detailed Specification (running status, system common,
// system real time); Standard MIDI Files 1.0 (chunks, sections 2.1 to 3.1).
// The module gitlab.com/gomidi/midi/v2 reads the files and drives the ports;
// its stamps are rounded to milliseconds, so ours are used.
package midi
