// Package midi reads and sends MIDI 1.0. Bytes from ports become stamped messages:
//
//	raw device, FIFO, serial ─┐
//	Standard MIDI File ───────┤ Port.Run        Inbox
//	system driver, in a child ┘   │ read, stamp   │ bounded, never waits
//	   process of this program    └─ Stream.Byte ─┴─► Message ─► Message.Clock
//	                                                  (notes, programs)  (clock.Event)
//
// A [Message] is a small value. A [Stream] finds messages in a byte stream. A [Port]
// stamps each read with a [clock.Base] immediately and puts the messages into an
// [Inbox]. When a port is lost, it puts one message of kind [Lost], reports a
// [Status], and tries to open again until its context ends.
//
// [Output.Send] puts a [Message] into a bounded queue and never waits. A goroutine
// of the port writes the queue:
//
//	NewNoteOn … ─► Output.Send ─► queue ─► Output.Run ─► device, FIFO, file, driver's child
//
// The driver of the operating system is C code. It runs in a child process
// ([ChildMain]), so that a crash or hang of the driver costs only one port. Linux
// builds leave it out unless built with -tags rtmidi.
//
// Sources: MIDI 1.0 Detailed Specification (running status, system common, system
// real time); Standard MIDI Files 1.0 (chunks, sections 2.1 to 3.1). The module
// gitlab.com/gomidi/midi/v2 reads the files and drives the ports. Its time stamps
// are rounded to milliseconds, so this package makes its own.
package midi
